/* resin/kinetics.h - what the calculations of cure share. */
#ifndef FETTLE_RESIN_KINETICS_H
#define FETTLE_RESIN_KINETICS_H

#include <math.h>

#define FETTLE_GAS_CONSTANT 8.314462618 /* J/(mol K); exact in the SI since 2019, 10 digits */

/* Rate constant at an absolute temperature. */
static inline double fettle_arrhenius(double factor, double energy, double temperature) {
  return factor * exp(-energy / (FETTLE_GAS_CONSTANT * temperature));
}

#endif
