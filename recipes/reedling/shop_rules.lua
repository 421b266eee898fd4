-- The shop's own calculations, loaded with input{kind = "calculations"}. They work as the program's
-- own do: units and limits are checked, and each is shown with its working on the sheet.

return {
  sanding_time = calculation {
    name = "shop.sanding_time", brief = "hours to sand a surface through a row of grits",
    formula = "t = A * n / q",
    parameters = {
      {name = "area", symbol = "A", unit = "m^2", inch_unit = "ft^2", low = 0, high = 1000,
        meaning = "surface, ends and flange counted"},
      {name = "grits", symbol = "n", unit = "1", low = 1, high = 12, whole = true,
        meaning = "grits, one after the other"},
      {name = "rate", symbol = "q", unit = "m^2/h", inch_unit = "ft^2/h", low = q"0.01 m^2/h",
        high = q"50 m^2/h", meaning = "surface that one person sands through one grit in an hour"},
    },
    outputs = {{name = "time", symbol = "t", unit = "h", meaning = "staffed hours"}},
    notes = "By hand with a long board; guide coats are in the rate.",
    source = "shop rule",
    checks = {{
      inputs = {area = q"10 ft^2", grits = 3, rate = q"6 ft^2/h"}, outputs = {time = 5*hr},
    }},
  },
  price = calculation {
    name = "shop.price", brief = "price of a job with its contingency",
    formula = "P = (M + W + R) * (1 + c)",
    parameters = {
      {name = "materials", symbol = "M", unit = "USD", low = 0, meaning = "materials"},
      {name = "labour", symbol = "W", unit = "USD", low = 0, meaning = "staffed hours, paid"},
      {name = "router", symbol = "R", unit = "USD", low = 0, meaning = "router hours, paid"},
      {name = "contingency", symbol = "c", unit = "1", low = 0, high = 1, usual_low = 0.05,
        usual_high = 0.4, meaning = "share added for what nobody has thought of"},
    },
    outputs = {{name = "price", symbol = "P", unit = "USD", meaning = "price before tax"}},
    source = "shop rule",
    checks = {{
      inputs = {
        materials = q"1000 USD", labour = q"600 USD", router = q"400 USD", contingency = 0.1,
      },
      outputs = {price = q"2200 USD"},
    }},
  },
}
