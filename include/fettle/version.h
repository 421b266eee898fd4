/* fettle/version.h - the one place where version numbers stand. The build reads this file. */
#ifndef FETTLE_VERSION_H
#define FETTLE_VERSION_H

#define FETTLE_VERSION "0.1.0"

/* Raised whenever the numbers of any calculation change; printed on every sheet. */
#define FETTLE_RESULTS_REVISION 1

/* What a recipe states as `engine`, and what shop data states as `schema`. */
#define FETTLE_RECIPE_ENGINE 1
#define FETTLE_SHOP_SCHEMA 1

#endif
