-- Finish passes over the hull plug: ridge, chip load, time, and whether it may run unattended.

recipe {
  name = "Finish milling", part = "Reedling hull plug", units = "inch", engine = 1,
  note = "Raster along the plug, two set-ups; the ridge is normal to the surface.",
}
job {job = "Reedling"}

local shop = shop_data "shop.yaml"
local router = shop.machines.router

local cutter_name = input {
  name = "cutter", default = "ball 1.000", choices = {"ball 1.000", "ball 0.500", "ball 0.250"},
  meaning = "cutter of the finish passes",
}
local cutter = shop.cutters[cutter_name]
local stepover = input {
  name = "stepover", default = 0.025*inch, low = 0.002*inch, high = 0.25*inch,
  meaning = "distance between neighbouring passes, in plan",
}
local feed = input {
  name = "feed", default = q"160 in/min", low = q"10 in/min", high = router.feed,
  meaning = "feed along the passes",
}
local speed = input {
  name = "spindle_speed", default = 12000*rpm, low = router.spindle_lowest,
  high = router.spindle_highest, meaning = "spindle speed",
}
local depth = input {
  name = "depth", default = 0.060*inch, low = 0.001*inch, high = 0.5*inch,
  meaning = "putty that the pass takes off",
}
local slope = input {
  name = "edge_slope", default = 45*deg, low = 0*deg, high = 80*deg,
  meaning = "slope of the steepest face across the passes",
}
local ridge_limit = input {
  name = "ridge_limit", default = 1*thou, low = 0.05*thou, high = 20*thou,
  meaning = "ridge that sanding can still take off",
}
local segment = input {
  name = "segment", default = 0.020*inch, low = 0.002*inch, high = 1*inch,
  meaning = "length of one block of the program",
}

section "Ridge between passes"

result {
  name = "ridge_flat", unit = "thou", digits = 3, meaning = "ridge on level faces",
  value = milling.scallop_height {cutter_diameter = cutter.diameter, stepover = stepover},
}
local ridge_edge = result {
  name = "ridge_edge", unit = "thou", digits = 3, meaning = "ridge on the steepest face",
  value = milling.scallop_height {
    cutter_diameter = cutter.diameter, stepover = stepover, slope = slope, path_azimuth = 90*deg,
  },
}
check {
  name = "ridge", pass = ridge_edge <= ridge_limit, level = "warn", value = ridge_edge,
  limit = ridge_limit, unit = "thou", meaning = "ridge on the steepest face against the limit",
  cure = "smaller stepover or larger ball",
}
result {
  name = "stepover_for_limit", unit = "in", digits = 3,
  meaning = "stepover in plan that just keeps the limit on the steepest face",
  value = milling.scallop_stepover {
    cutter_diameter = cutter.diameter, scallop_height = ridge_limit, slope = slope,
    path_azimuth = 90*deg,
  },
}
local points, edge_points = {}, {}
for i = 1, 24 do
  local step = i * 0.005*inch
  if step <= cutter.diameter / 4 then
    points[#points + 1] = {step,
      (milling.scallop_height {cutter_diameter = cutter.diameter, stepover = step})}
    edge_points[#edge_points + 1] = {step, (milling.scallop_height {
      cutter_diameter = cutter.diameter, stepover = step, slope = slope, path_azimuth = 90*deg,
    })}
  end
end
plot {
  name = "ridge_plot", title = "Ridge against stepover",
  x = {label = "stepover", unit = "in"}, y = {label = "ridge", unit = "thou"},
  lines = {{label = "level face", points = points}, {label = "steepest face", points = edge_points}},
  limits = {{label = "limit", y = ridge_limit}},
}

section "Chip and cutting speed"

local chip = result {
  name = "chip_load", unit = "in", digits = 3, meaning = "feed of each tooth",
  value = milling.chip_load {table_feed = feed, spindle_speed = speed, teeth = cutter.flutes},
}
local contact = result {
  name = "diameter_at_depth", unit = "in", digits = 4, meaning = "diameter that cuts at this depth",
  value = milling.effective_diameter_ball {cutter_diameter = cutter.diameter, depth_of_cut = depth},
}
result {
  name = "cutting_speed", unit = "ft/min", digits = 4, meaning = "cutting speed at this depth",
  value = milling.cutting_speed {cutter_diameter = contact, spindle_speed = speed},
}
check {
  name = "chip_not_rubbing", pass = chip >= 2*thou, level = "warn", value = chip, limit = 2*thou,
  unit = "in", meaning = "chip thick enough to carry the heat away",
  cure = "more feed or fewer turns",
}

section "Time on the router"

local area = input {
  name = "area", default = q"1805.175 in^2", low = q"1 in^2", meaning = "plan area that is milled",
}
local length = result {
  name = "path_length", unit = "ft", digits = 5, meaning = "way of the cutter over the plug",
  value = milling.raster_path_length {area = area, stepover = stepover},
}
local passes, passes_working = milling.pass_count {width = 21*inch, stepover = stepover}
result {name = "passes", value = passes, working = passes_working, meaning = "passes side by side"}
local hours = result {
  name = "run_time", unit = "h", digits = 3, meaning = "cutting and turning, both set-ups",
  value = milling.run_time {
    path_length = length, table_feed = feed, acceleration = router.acceleration_x, passes = passes,
  },
}
local blocks = result {
  name = "blocks_a_second", unit = "1/s", digits = 3, meaning = "blocks that the control must read",
  value = milling.block_rate {table_feed = feed, segment_length = segment},
}
check {
  name = "control_keeps_up", pass = blocks <= router.block_rate, level = "stop", value = blocks,
  limit = router.block_rate, unit = "1/s", meaning = "the control reads blocks fast enough",
  cure = "longer segments or less feed",
}
check {
  name = "cutter_life", pass = length <= cutter.life, level = "stop", value = length,
  limit = cutter.life, unit = "m", meaning = "one cutter lasts to the end of the run",
  cure = "plan a change of cutter at a retract, or a larger stepover",
}
result {
  name = "router_cost", formula = "C = t * r", with = {t = hours, r = shop.rates.router},
  unit = "USD", digits = 4, meaning = "router time",
}
caution "unattended"
