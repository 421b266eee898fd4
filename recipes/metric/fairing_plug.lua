-- A small fairing plug in a metric shop: foam, finish pass, skin, waiting time.

recipe {
  name = "Fairing plug", part = "Model yacht fairing", units = "metric", engine = 1,
}
local shop = shop_data "shop.yaml"
job {job = "Fairing", temperature = shop.shop.temperature}

local length = input {name = "length", default = 980*mm, low = 100*mm, high = 2000*mm,
  meaning = "length of the plug with allowance"}
local width = input {name = "width", default = 420*mm, low = 50*mm, high = 1200*mm,
  meaning = "width of the plug with allowance"}
local height = input {name = "height", default = 170*mm, low = 20*mm, high = 300*mm,
  meaning = "height of the plug with allowance"}

section "Foam"
local foam = shop.foams["foam 35"]
local stack = nesting.layers {
  height = height,
  outlines = {{top = height, x = 0*mm, y = 0*mm, length = length, width = width}},
  stock = {{
    name = "foam 35", length = foam.length, width = foam.width, thickness = foam.thickness,
    count = foam.count, cost = foam.price,
  }},
  kerf = foam.kerf, effort = 1000000, -- enough as long as the count meets its bound
}
result {name = "foam_sheets", value = stack.count, working = stack.working,
  meaning = "sheets to take from the rack"}
drawing {name = "foam_cuts", title = "Cutting plan", nest = stack}
check {name = "foam_enough", pass = #stack.unplaced == 0, level = "stop",
  meaning = "every piece has its place on a sheet", cure = "order foam"}

section "Finish pass"
local router = shop.machines["portal mill"]
local ball = shop.cutters["ball 12"]
local stepover = input {name = "stepover", default = 0.6*mm, low = 0.05*mm, high = 4*mm,
  meaning = "distance between neighbouring passes"}
local feed = input {name = "feed", default = q"4500 mm/min", low = q"100 mm/min",
  high = router.feed, meaning = "feed along the passes"}
local speed = input {name = "spindle_speed", default = 18000*rpm, low = router.spindle_lowest,
  high = router.spindle_highest, meaning = "spindle speed"}
local ridge = result {name = "ridge", unit = "um", digits = 3, meaning = "ridge between passes",
  value = milling.scallop_height {cutter_diameter = ball.diameter, stepover = stepover}}
check {name = "ridge", pass = ridge <= 15*um, level = "warn", value = ridge, limit = 15*um,
  unit = "um", meaning = "ridge that one grit takes off", cure = "smaller stepover"}
result {name = "chip_load", unit = "mm", digits = 3, meaning = "feed of each tooth",
  value = milling.chip_load {table_feed = feed, spindle_speed = speed, teeth = ball.flutes}}
local run = milling.raster_time {
  length = length, width = width, stepover = stepover, table_feed = feed,
  acceleration = router.acceleration_x,
}
result {name = "run_time", value = run.run_time, unit = "min", digits = 3,
  meaning = "cutting and turning"}
check {name = "cutter_life", pass = run.path_length <= ball.life, value = run.path_length,
  limit = ball.life, unit = "m", level = "stop", meaning = "one cutter lasts to the end"}
caution "unattended"

section "Skin"
local epoxy = shop.resins["epoxy M"]
local cloth = shop.cloths["glass 163"]
local cloth_mass = result {name = "cloth", unit = "g", digits = 4, meaning = "cloth to weigh",
  value = laminate.cloth_mass {
    area = length * width, plies = 2, areal_mass = cloth.areal_mass, overlap_share = cloth.overlap,
  }}
local mix = result {name = "mix", unit = "g", digits = 4, meaning = "mixed epoxy",
  value = laminate.resin_mass {cloth_mass = cloth_mass, resin_ratio = 1, waste = epoxy.waste}}
local pots = resin.pots_by_mass {
  mixed_mass = mix, pot_limit = epoxy.pot_limit, resin_parts = epoxy.mix_by_weight.resin,
  hardener_parts = epoxy.mix_by_weight.hardener,
}
local pot_rows = {}
for i = 1, pots.pots do
  pot_rows[i] = {
    ["epoxy M resin"] = pots.resin_mass, ["epoxy M hardener"] = pots.hardener_mass,
  }
end
mix_sheet {
  name = "skin_mix", title = "Epoxy for the skin, by weight", scale_step = shop.shop.scale_step,
  parts = {
    {material = "epoxy M resin", mass = pots.resin_mass * pots.pots},
    {material = "epoxy M hardener", mass = pots.hardener_mass * pots.pots},
  },
  pots = pot_rows, working = pots.working,
}
local rule = shop.cure_rules["ten degrees"]
local gel = result {name = "gel", unit = "min", digits = 3, meaning = "gel time in this shop",
  value = resin.time_at_temperature {
    reference_time = epoxy.gel_time, reference_temperature = epoxy.gel_temperature,
    temperature = shop.shop.temperature, step = rule.step, factor = rule.factor,
  }.time}
check {name = "time_to_work", pass = gel >= 30*min, value = gel, limit = 30*min, unit = "min",
  level = "warn", meaning = "half an hour to wet out", cure = "smaller pots or a slower hardener"}
