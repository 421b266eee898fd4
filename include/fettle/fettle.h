/* fettle/fettle.h - the whole public interface of the core.
 *
 * Why it has this shape: every calculation is data (a descriptor) plus one function, so that a
 * program in any language can list, check and call all of them through fettle_call alone; values
 * cross in SI so that no caller can mix units; errors are returned and described in memory of the
 * caller's, so that the core can serve several threads and never prints; long jobs get what they
 * need from the world through fettle_host. */
#ifndef FETTLE_FETTLE_H
#define FETTLE_FETTLE_H

#include "fettle/cure.h"
#include "fettle/formula.h"
#include "fettle/host.h"
#include "fettle/nc.h"
#include "fettle/nesting.h"
#include "fettle/quantity.h"
#include "fettle/status.h"
#include "fettle/version.h"

#endif
