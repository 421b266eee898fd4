-- Putty sprayed in the afternoon and left overnight: how far it is in the morning, by the log of a
-- thermometer on the plug and two rules of thumb that disagree.

recipe {
  name = "Overnight cure", part = "Reedling hull plug", units = "inch", engine = 1,
}
local shop = shop_data "shop.yaml"
job {job = "Reedling", temperature = shop.shop.temperature, lots = "putty:        peroxide:"}

local log = input {
  name = "log", kind = "csv", file = "overnight.csv",
  columns = {{name = "time", unit = "h"}, {name = "temperature", unit = "degF"}},
  meaning = "readings from spraying at 16:00 to 07:00",
}
local putty = shop.coatings["putty A"]
local wait = input {
  name = "wait", default = 39*hr, low = 0*hr, high = 500*hr,
  meaning = "from spraying to the booked start of the router",
}
local within = input {
  name = "within", default = 14*hr, low = 1*hr, high = 200*hr,
  meaning = "time in which a warmed plug should be ready",
}

section "Temperature"

local temperatures, plotted, coldest = {}, {}, log[1].temperature
for i, reading in ipairs(log) do
  temperatures[i] = {reading.time, reading.temperature}
  if i % 6 == 1 then
    plotted[#plotted + 1] = temperatures[i]
  end
  if reading.temperature < coldest then
    coldest = reading.temperature
  end
end
local logged = log[#log].time - log[1].time
result {
  name = "logged", value = logged, unit = "h", digits = 3, meaning = "length of the log",
  working = "last reading less first", source = "log",
}
result {
  name = "coldest", value = coldest, unit = "degF", digits = 3, meaning = "coldest reading",
  working = "least of all readings", source = "log",
}
plot {
  name = "temperature_plot", title = "Temperature on the plug, every sixth reading",
  x = {label = "hours from spraying", unit = "h"}, y = {label = "temperature", unit = "degF"},
  lines = {{points = plotted}},
}

section "Cure"

-- After the last reading the plug is taken to stay as warm as it was then.
local function cured(rule)
  return resin.equivalent_time {
    history = temperatures, hold = true, reference_temperature = putty.machinable_temperature,
    step = rule.step, factor = rule.factor, required = putty.machinable_time, within = within,
    duration = logged, outputs = 31,
  }
end
local by_a, by_b = cured(shop.cure_rules.A), cured(shop.cure_rules.B)

result {
  name = "equivalent_a", value = by_a.equivalent, unit = "h", digits = 3,
  meaning = "hours at the data sheet's temperature that the night was worth, rule A",
}
result {
  name = "equivalent_b", value = by_b.equivalent, unit = "h", digits = 3,
  meaning = "the same by rule B",
}
plot {
  name = "cure_plot", title = "What the night was worth",
  x = {label = "hours from spraying", unit = "h"},
  y = {label = "hours at the data sheet's temperature", unit = "h"},
  lines = {{label = "rule A", points = by_a.points}, {label = "rule B", points = by_b.points}},
  limits = {{label = "machinable", y = putty.machinable_time}},
}
local ready_a = result {
  name = "ready_a", value = by_a.ready, unit = "h", digits = 3,
  meaning = "hours from spraying to machinable, rule A",
}
local ready_b = result {
  name = "ready_b", value = by_b.ready, unit = "h", digits = 3,
  meaning = "hours from spraying to machinable, rule B: plan with this one",
}
check {
  name = "ready_in_the_morning", pass = ready_a <= logged and ready_b <= logged, value = ready_b,
  limit = logged, unit = "h", level = "warn", meaning = "machinable by both rules when the log ends",
  cure = "leave it another day, or warm the plug to the temperature below",
}
check {
  name = "ready_when_booked", pass = ready_b <= wait, value = ready_b, limit = wait, unit = "h",
  level = "stop", meaning = "machinable by the slower rule when the router is booked",
  cure = "book the router later, or warm the plug",
}

section "Warming the plug"

result {
  name = "warm_a", value = by_a.constant_temperature, unit = "degF", digits = 4,
  meaning = "steady temperature that makes it ready in time, rule A",
}
result {
  name = "warm_b", value = by_b.constant_temperature, unit = "degF", digits = 4,
  meaning = "the same by rule B: set the heater to this one",
}
note "Past the end of the log the last temperature is taken to stay."
note "A number does not clear a soft surface: try a witness panel from the same pot first."
