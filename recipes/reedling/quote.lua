-- What the hull mould costs: amounts from the other recipes of the job, prices from the shop.

recipe {
  name = "Quote", part = "Reedling hull plug and mould", units = "inch", engine = 1,
}
local shop = shop_data "shop.yaml"
job {job = "Reedling"}

local rules = input {
  name = "rules", kind = "calculations", file = "shop_rules.lua",
  meaning = "the shop's own calculations",
}
local function stock(name)
  return (from_recipe {recipe = "plug_stock.lua", result = name})
end
local function skin(name)
  return (from_recipe {recipe = "skin_putty_cure.lua", result = name})
end
local function mould(name)
  return (from_recipe {recipe = "mould_laminate.lua", result = name})
end

section "Amounts that are bought"

local cloth_area = result {
  name = "cloth_area", formula = "A = m / w",
  with = {m = skin "cloth", w = shop.cloths["glass 6 oz"].areal_mass}, unit = "yd^2", digits = 4,
  meaning = "cloth by area, overlaps included",
}
local can = input {
  name = "sealer_can", default = 0.25*gal, low = 0.01*gal, high = 5*gal,
  meaning = "the sealer is sold in cans of this size",
}
local sealer = round_to(skin "sealer", can, "up")
local mat_waste = input {
  name = "mat_waste", default = 0.15, low = 0, high = 1, meaning = "overlaps and offcuts of mat",
}
local mat = result {
  name = "mat_mass", formula = "m = (m_l - m_r) * (1 + q)",
  with = {m_l = mould "laminate_mass", m_r = mould "resin", q = mat_waste}, unit = "lb", digits = 5,
  meaning = "mat to buy: the laminate less its resin, overlaps added",
}
local peroxide = result {
  name = "peroxide_mass", formula = "m = m_p + m_m",
  with = {m_p = skin "peroxide", m_m = mould "peroxide"}, unit = "lb", digits = 4,
  meaning = "peroxide for putty and mould resin",
}

section "Materials"

local lines, symbols = {}, {}
local function line(name, amount, price, meaning)
  lines[name] = result {
    name = name, formula = "C = n * p", with = {n = amount, p = price}, unit = "USD",
    digits = amount * price < q"100 USD" and 4 or 5, meaning = meaning,
  }
  symbols[#symbols + 1] = name
end
local boards = input {name = "boards", default = 1, low = 0, high = 20, meaning = "base boards"}
local bushings = input {
  name = "bushings", default = 6, low = 0, high = 100, whole = true, meaning = "index bushings",
}
local coatings, own = shop.coatings, shop.own
line("foam", stock "foam_sheets", shop.foams["foam 2 lb"].price, "foam sheets")
line("base", boards, shop.boards["base board"].price, "base board")
line("foam_glue", stock "glue", shop.adhesives["foam glue"].price, "glue between the layers")
line("cloth", cloth_area, shop.cloths["glass 6 oz"].price, "cloth of the skin")
line("epoxy", skin "epoxy_mix", shop.resins["epoxy A"].price, "epoxy of the skin")
line("putty", skin "putty", coatings["putty A"].price, "sprayed putty")
line("surfacer", skin "surfacer", coatings["surfacer A"].price, "surfacer")
line("sealer", sealer, coatings["sealer A"].price, "sealer, whole cans")
line("gel_coat", skin "gel_coat", coatings["gel coat A"].price, "gel coat")
line("mould_resin", mould "resin_with_waste", shop.resins["mould resin A"].price, "mould resin")
line("mat", mat, shop.mats["mat 1.5"].price, "mats")
line("peroxide", peroxide, own["peroxide price"], "peroxide")
line("bushing", bushings, own["bushing price"], "index bushings")
lines.plywood, lines.consumables = own["plywood price"], own.consumables
symbols[#symbols + 1], symbols[#symbols + 2] = "plywood", "consumables"
local materials = result {
  name = "materials", formula = "M = " .. table.concat(symbols, " + "), with = lines, unit = "USD",
  digits = 6, meaning = "all materials, the plywood of the braces and consumables too",
}

section "Hours"

-- Hours of hand work are booked by the quarter.
local sanding = round_to(
  from_recipe {recipe = "sanding.lua", result = "sanding_time"}, 0.25*hr, "nearest")
local tasks = {
  {"stack and glue foam", 6*hr}, {"rough cut, watched", 1.5*hr}, {"glass", 3*hr},
  {"spray putty", 3*hr}, {"index the plug, set zero", 0.75*hr}, {"sanding, all grits", sanding},
  {"surfacer", 2*hr}, {"sealer, 2 coats", 1.5*hr}, {"gel coat", 2*hr}, {"skin", 3*hr},
  {"bulk laminate, two sessions", 12*hr}, {"braces", 6*hr}, {"demould", 2*hr},
}
local staffed = 0*hr
for _, task in ipairs(tasks) do
  staffed = staffed + task[2]
end
tabulate {
  name = "tasks", title = "Staffed hours", rows = tasks,
  columns = {{title = "task"}, {title = "hours", unit = "h", digits = 3}},
}
local crew_hours = result {
  name = "crew_hours", value = staffed, unit = "h", digits = 4, meaning = "staffed hours",
  working = "sum of the table above", source = "shop's plan of the job",
}
local booked = input {
  name = "router_hours", default = 9.75*hr, low = 0*hr, high = 1000*hr,
  meaning = "router as booked: rough cut and both finish set-ups",
}
local run_time = from_recipe {recipe = "finish_milling.lua", result = "run_time"}
check {
  name = "router_booked_long_enough", pass = run_time <= booked, value = run_time, limit = booked,
  unit = "h", level = "warn", meaning = "the booking covers the finish passes",
  cure = "book more hours",
}
local labour = result {
  name = "labour", formula = "W = t * r", with = {t = crew_hours, r = shop.rates.crew}, unit = "USD",
  digits = 6, meaning = "staffed hours, paid",
}
local router = result {
  name = "router", formula = "R = t * r", with = {t = booked, r = shop.rates.router}, unit = "USD",
  digits = 5, meaning = "router hours, paid",
}

section "Price"

result {
  name = "price", unit = "USD", digits = 6, meaning = "price before tax",
  value = rules.price {
    materials = materials, labour = labour, router = router,
    contingency = shop.rates.contingency,
  },
}
note "Amounts are not rounded on the way; only what is printed is."
