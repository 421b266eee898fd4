#!/bin/sh
# Holds the core to its layer: it asks nothing of the world but a few functions of the C library,
# and has no writable data. usage: tests/layers.sh ARCHIVE
set -eu
archive=$1
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# Mathematics, memory and text functions, snprintf; the stack guard and the checked forms that a
# compiler may put in. Nothing that allocates, opens, prints, reads the clock or the environment.
allowed=' acos asin atan atan2 cbrt ceil cos cosh erf erfc exp exp2 expm1 fabs floor fma fmax fmin
 fmod frexp hypot ldexp log log10 log1p log2 lround modf nearbyint pow rint round sin sincos sinh
 sqrt tan tanh trunc memchr memcmp memcpy memmove memset strchr strcmp strcspn strlen strncmp
 strncpy strrchr strspn strstr snprintf vsnprintf strtod strtol __stack_chk_fail __snprintf_chk
 __vsnprintf_chk __memcpy_chk _GLOBAL_OFFSET_TABLE_ '

nm --defined-only -g "$archive" | awk 'NF == 3 { print $3 }' | sort -u >"$work/defined"
nm -u "$archive" | awk '$1 == "U" { print $2 }' | sort -u >"$work/wanted"
status=0
for symbol in $(comm -23 "$work/wanted" "$work/defined"); do
  case $symbol in
  __*ti[0-9] | __*ti[sdx]f | __fix*ti) continue ;; # arithmetic of 128 bits, the compiler's own
  esac
  case $(echo "$allowed" | tr '\n' ' ') in
  *" $symbol "*) ;;
  *)
    echo "core uses $symbol, which is outside its layer: ask for it through fettle_host" >&2
    status=1
    ;;
  esac
done

# Tables with pointers stand in .data.rel.ro, which is read only once the program runs.
objdump -h "$archive" | awk '
  /file format/ { object = $1 }
  $2 ~ /^\.(data|bss|tdata|tbss)(\..*)?$/ && $2 !~ /^\.data\.rel\.ro/ && $3 !~ /^0+$/ {
    print object " has writable data in " $2 ": make it const, or let the caller own it"
    bad = 1
  }
  END { exit bad }' >&2 || status=1
exit $status
