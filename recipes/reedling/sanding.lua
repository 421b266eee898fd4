-- Sanding the surfaced plug: hours by the shop's rule, how often the film can be sanded, and how
-- long the recoat window is open in this shop.

recipe {
  name = "Sanding", part = "Reedling hull plug", units = "inch", engine = 1,
}
local shop = shop_data "shop.yaml"
job {job = "Reedling", temperature = shop.shop.temperature}

local rules = input {
  name = "rules", kind = "calculations", file = "shop_rules.lua",
  meaning = "the shop's own calculations",
}

section "Hours"

local area = input {
  name = "area", default = q"30.785 ft^2", low = q"0.1 ft^2", meaning = "sanded area of the plug",
}
local grits = input {
  name = "grits", default = 4, low = 1, high = 12, whole = true,
  meaning = "grits, one after the other",
}
local rate = input {
  name = "rate", default = q"6.84 ft^2/h", low = q"0.1 ft^2/h", high = q"100 ft^2/h",
  meaning = "area that one person sands through one grit in an hour",
}
result {
  name = "sanding_time", unit = "h", digits = 3, meaning = "staffed hours of sanding, all grits",
  value = rules.sanding_time {area = area, grits = grits, rate = rate},
}
caution "dust"

section "Film"

local film = from_recipe {recipe = "skin_putty_cure.lua", result = "surfacer_left"}
local scratch = input {
  name = "scratch_depth", default = 1.2*mil, low = 0*mil, high = 20*mil,
  meaning = "film that one cycle takes to remove the last grit's scratches",
}
local more = input {
  name = "levelling", default = 0.6*mil, low = 0*mil, high = 20*mil,
  meaning = "film that one cycle takes besides, to level",
}
local keep = input {
  name = "keep", default = 6*mil, low = 0*mil, high = 50*mil, meaning = "film that must stay",
}
local cycle = result {
  name = "cycle", formula = "h_c = h_s + h_l", with = {h_s = scratch, h_l = more}, unit = "mil",
  digits = 3, meaning = "film that one cycle takes",
}
local cycles = coating.sanding_cycles {
  dry_film = film, kept_film = keep, sanded_film = cycle,
}
result {
  name = "cycles", value = cycles.cycles, working = cycles.working,
  meaning = "sanding cycles before more surfacer is needed",
}
result {
  name = "film_left", value = cycles.film_left, unit = "mil", digits = 3,
  meaning = "film after those cycles",
}
check {
  name = "two_cycles", pass = cycles.cycles >= 2, value = cycles.cycles, limit = 2, level = "warn",
  meaning = "film for two cycles", cure = "another coat of surfacer",
}

section "Recoat window"

local surfacer = shop.coatings["surfacer A"]
local function here(time)
  return resin.time_at_temperature {
    reference_time = time, reference_temperature = surfacer.recoat_temperature,
    temperature = shop.shop.temperature, step = shop.cure_rules.A.step,
    factor = shop.cure_rules.A.factor,
  }.time
end
result {
  name = "recoat_earliest", value = here(surfacer.recoat_earliest), unit = "h", digits = 3,
  meaning = "earliest next coat without sanding, in this shop",
}
result {
  name = "recoat_latest", value = here(surfacer.recoat_latest), unit = "h", digits = 4,
  meaning = "latest next coat without sanding, in this shop",
}
