#include "recipe/digest.h"

#include <stdint.h>
#include <string.h>

/* FIPS 180-4 section 4.2.2: the first 32 bits of the fractional parts of the cube roots of the
 * first 64 primes. */
static const uint32_t round_constants[64] = {
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2};

static uint32_t turn(uint32_t word, unsigned bits) {
  return word >> bits | word << (32 - bits);
}

/* FIPS 180-4 section 6.2.2. */
static void add_block(uint32_t state[8], const unsigned char *block) {
  uint32_t w[64];
  for (size_t t = 0; t < 16; t++) {
    w[t] = (uint32_t)block[4 * t] << 24 | (uint32_t)block[4 * t + 1] << 16 |
           (uint32_t)block[4 * t + 2] << 8 | block[4 * t + 3];
  }
  for (size_t t = 16; t < 64; t++) {
    uint32_t s0 = turn(w[t - 15], 7) ^ turn(w[t - 15], 18) ^ w[t - 15] >> 3;
    uint32_t s1 = turn(w[t - 2], 17) ^ turn(w[t - 2], 19) ^ w[t - 2] >> 10;
    w[t] = s1 + w[t - 7] + s0 + w[t - 16];
  }
  uint32_t a = state[0], b = state[1], c = state[2], d = state[3];
  uint32_t e = state[4], f = state[5], g = state[6], h = state[7];
  for (size_t t = 0; t < 64; t++) {
    uint32_t one = h + (turn(e, 6) ^ turn(e, 11) ^ turn(e, 25)) + ((e & f) ^ (~e & g)) +
                   round_constants[t] + w[t];
    uint32_t two = (turn(a, 2) ^ turn(a, 13) ^ turn(a, 22)) + ((a & b) ^ (a & c) ^ (b & c));
    h = g;
    g = f;
    f = e;
    e = d + one;
    d = c;
    c = b;
    b = a;
    a = one + two;
  }
  const uint32_t add[8] = {a, b, c, d, e, f, g, h};
  for (size_t i = 0; i < 8; i++) {
    state[i] += add[i];
  }
}

void fettle_digest(const void *bytes, size_t length, char out[FETTLE_DIGEST_TEXT]) {
  /* Section 5.3.3: fractional parts of the square roots of the first eight primes. */
  uint32_t state[8] = {0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a,
                       0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19};
  const unsigned char *at = bytes;
  size_t left = length;
  for (; left >= 64; left -= 64, at += 64) {
    add_block(state, at);
  }
  unsigned char tail[128] = {0};
  if (left > 0) {
    memcpy(tail, at, left);
  }
  tail[left] = 0x80;
  size_t size = left < 56 ? 64 : 128;
  uint64_t bits = (uint64_t)length * 8;
  for (size_t i = 0; i < 8; i++) {
    tail[size - 1 - i] = (unsigned char)(bits >> 8 * i);
  }
  for (size_t i = 0; i < size; i += 64) {
    add_block(state, tail + i);
  }
  static const char digits[] = "0123456789abcdef";
  for (size_t i = 0; i < 64; i++) {
    out[i] = digits[state[i / 8] >> (28 - 4 * (i % 8)) & 15];
  }
  out[64] = '\0';
}
