#include "fettle/formula.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "catalogue/parameter.h"

/* A value typed in one unit and a limit written in another may differ in the last bits only. */
static const double LIMIT_TOLERANCE = 1e-12; /* relative */

fettle_status fettle_scale_of(const char *unit, fettle_role role, fettle_scale *out,
                              fettle_diagnostic *diagnostic) {
  fettle_unit_expression expression = {.factor = 1};
  if (strcmp(unit, "1") != 0) {
    fettle_status status = fettle_unit_parse(unit, strlen(unit), &expression, diagnostic);
    if (status != FETTLE_OK) {
      return status;
    }
  }
  out->factor = expression.factor;
  out->offset = role == FETTLE_ROLE_DIFFERENCE ? 0 : expression.offset;
  out->dimension = expression.dimension;
  out->index = expression.index;
  return FETTLE_OK;
}

size_t fettle_show_number(double number, const char *unit, int digits, char *out, size_t capacity) {
  char text[40];
  fettle_number_format(number, digits, text, sizeof text);
  int length = strcmp(unit, "1") == 0 ? snprintf(out, capacity, "%s", text)
                                      : snprintf(out, capacity, "%s %s", text, unit);
  return (size_t)length;
}

typedef enum side { BELOW, ABOVE } side;

/* `number` and `limit` are in the parameter's own unit. */
static fettle_status fail_limit(fettle_diagnostic *diagnostic, const fettle_parameter *parameter,
                                side where, double number, const char *of, double limit) {
  char shown[64];
  char shown_limit[64];
  /* Two values that differ late need the digits in which they differ. */
  for (int digits = FETTLE_SHOWN_DIGITS; digits <= 17; digits++) {
    fettle_show_number(number, parameter->unit, digits, shown, sizeof shown);
    fettle_show_number(limit, parameter->unit, digits, shown_limit, sizeof shown_limit);
    if (strcmp(shown, shown_limit) != 0) {
      break;
    }
  }
  /* A value on its limit fails where the limit itself is outside. */
  const char *rule = strcmp(shown, shown_limit) != 0
                         ? where == ABOVE ? "not be above" : "not be below"
                     : where == ABOVE ? "be below"
                                      : "be above";
  fettle_fail(diagnostic, FETTLE_ERROR_RANGE, parameter->name, "%s = %s: must %s %s%s%s",
              parameter->name, shown, rule, of ? of : "", of ? " " : "", shown_limit);
  if (diagnostic) {
    diagnostic->value = number;
    diagnostic->limit = limit;
    snprintf(diagnostic->unit, sizeof diagnostic->unit, "%s", parameter->unit);
  }
  return FETTLE_ERROR_RANGE;
}

static fettle_status fail_limit_si(fettle_diagnostic *diagnostic, const fettle_parameter *parameter,
                                   side where, double value, const char *of, double limit) {
  fettle_scale scale;
  fettle_status status = fettle_scale_of(parameter->unit, parameter->role, &scale, diagnostic);
  if (status != FETTLE_OK) {
    return status;
  }
  return fail_limit(diagnostic, parameter, where, (value - scale.offset) / scale.factor, of,
                    (limit - scale.offset) / scale.factor);
}

fettle_status fettle_fail_above(fettle_diagnostic *diagnostic, const fettle_parameter *parameter,
                                double value, const char *of, double limit) {
  return fail_limit_si(diagnostic, parameter, ABOVE, value, of, limit);
}

fettle_status fettle_fail_below(fettle_diagnostic *diagnostic, const fettle_parameter *parameter,
                                double value, const char *of, double limit) {
  return fail_limit_si(diagnostic, parameter, BELOW, value, of, limit);
}

static fettle_status fail_missing(fettle_diagnostic *diagnostic,
                                  const fettle_parameter *parameter) {
  bool plain = strcmp(parameter->unit, "1") == 0;
  return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, parameter->name, "missing %s (%s%s%s)",
                     parameter->name, parameter->meaning, plain ? "" : ", ",
                     plain ? "" : parameter->unit);
}

static void warn_unusual(fettle_warnings *warnings, const fettle_parameter *parameter,
                         double number) {
  double low = parameter->usual_low;
  double high = parameter->usual_high;
  double slack = LIMIT_TOLERANCE * fabs(number);
  if (low == high || (number >= low - slack && number <= high + slack)) {
    return;
  }
  char shown[64];
  char shown_low[64];
  char shown_high[64];
  fettle_show_number(number, parameter->unit, FETTLE_SHOWN_DIGITS, shown, sizeof shown);
  fettle_show_number(low, parameter->unit, FETTLE_SHOWN_DIGITS, shown_low, sizeof shown_low);
  fettle_show_number(high, parameter->unit, FETTLE_SHOWN_DIGITS, shown_high, sizeof shown_high);
  if (isinf(low)) {
    fettle_warn(warnings, parameter->name, "%s = %s: above the usual %s", parameter->name, shown,
                shown_high);
  } else if (isinf(high)) {
    fettle_warn(warnings, parameter->name, "%s = %s: below the usual %s", parameter->name, shown,
                shown_low);
  } else {
    fettle_warn(warnings, parameter->name, "%s = %s: outside the usual %s to %s", parameter->name,
                shown, shown_low, shown_high);
  }
}

/* Puts into `value` what `evaluate` gets for one input: the preset, or what was given, moved onto
 * a hard limit from which it differs by rounding alone. */
static fettle_status check_input(const fettle_parameter *parameter, double given, double *value,
                                 fettle_warnings *warnings, fettle_diagnostic *diagnostic) {
  fettle_scale scale;
  fettle_status status = fettle_scale_of(parameter->unit, parameter->role, &scale, diagnostic);
  if (status != FETTLE_OK) {
    return status;
  }
  if (isnan(given)) {
    if (isnan(parameter->preset)) {
      return fail_missing(diagnostic, parameter);
    }
    *value = parameter->preset * scale.factor + scale.offset;
    return FETTLE_OK;
  }
  if (isinf(given)) {
    return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, parameter->name,
                       "%s is infinite: give a finite number", parameter->name);
  }
  double number = (given - scale.offset) / scale.factor;
  /* The offset of a temperature counts too: 0 degC is 273.15 in SI. */
  double slack = LIMIT_TOLERANCE * (fabs(number) + fabs(scale.offset / scale.factor));
  if (number < parameter->low) {
    if (number < parameter->low - slack) {
      return fail_limit(diagnostic, parameter, BELOW, number, NULL, parameter->low);
    }
    given = parameter->low * scale.factor + scale.offset;
  } else if (number > parameter->high) {
    if (number > parameter->high + slack) {
      return fail_limit(diagnostic, parameter, ABOVE, number, NULL, parameter->high);
    }
    given = parameter->high * scale.factor + scale.offset;
  }
  if (parameter->whole) {
    double whole = round(number);
    if (fabs(number - whole) > slack) {
      char shown[64];
      fettle_show_number(number, parameter->unit, FETTLE_SHOWN_DIGITS, shown, sizeof shown);
      return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, parameter->name,
                         "%s = %s: must be a whole number", parameter->name, shown);
    }
    given = whole * scale.factor + scale.offset;
  }
  warn_unusual(warnings, parameter, number);
  *value = given;
  return FETTLE_OK;
}

fettle_status fettle_call(const fettle_formula *formula, const double *inputs, double *outputs,
                          fettle_warnings *warnings, fettle_diagnostic *diagnostic) {
  if (!formula->evaluate) {
    return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, NULL,
                       "%s takes lists: call its own function", formula->name);
  }
  size_t input_count = fettle_parameter_count(formula->inputs);
  size_t output_count = fettle_parameter_count(formula->outputs);
  if (input_count > FETTLE_INPUTS_MOST || output_count > FETTLE_OUTPUTS_MOST) {
    return fettle_fail(diagnostic, FETTLE_ERROR_INTERNAL, NULL, "%s has too many parameters",
                       formula->name);
  }
  double values[FETTLE_INPUTS_MOST];
  double results[FETTLE_OUTPUTS_MOST];
  for (size_t i = 0; i < input_count; i++) {
    fettle_status status =
        check_input(&formula->inputs[i], inputs[i], &values[i], warnings, diagnostic);
    if (status != FETTLE_OK) {
      return status;
    }
  }
  for (size_t i = 0; i < output_count; i++) {
    results[i] = NAN;
  }
  fettle_status status = formula->evaluate(values, results, warnings, diagnostic);
  if (status != FETTLE_OK) {
    return status;
  }
  for (size_t i = 0; i < output_count; i++) {
    if (!isfinite(results[i])) {
      const char *name = formula->outputs[i].name;
      return fettle_fail(diagnostic, FETTLE_ERROR_ARGUMENT, name,
                         "%s is not a finite number for these values", name);
    }
  }
  memcpy(outputs, results, output_count * sizeof *outputs);
  return FETTLE_OK;
}
