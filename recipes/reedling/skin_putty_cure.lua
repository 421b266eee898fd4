-- Glass skin, sprayed putty, its cure in a cold shop, and the coats on top.

recipe {
  name = "Skin, putty and cure", part = "Reedling hull plug", units = "inch", engine = 1,
}
local shop = shop_data "shop.yaml"
job {job = "Reedling", temperature = shop.shop.temperature}

local area = input {
  name = "area", default = q"30.785 ft^2", low = q"0.1 ft^2", meaning = "coated area of the plug",
}
local temperature = input {
  name = "shop_temperature", default = shop.shop.temperature, low = degF(35), high = degF(110),
  meaning = "shop temperature while it cures",
}

section "Glass skin"

local epoxy = shop.resins["epoxy A"]
local cloth = shop.cloths["glass 6 oz"]
local plies = input {name = "plies", default = 2, low = 1, high = 12, whole = true, meaning = "plies"}
local cloth_mass = result {
  name = "cloth", unit = "g", digits = 5, meaning = "cloth to cut and weigh, overlaps included",
  value = laminate.cloth_mass {
    area = area, plies = plies, areal_mass = cloth.areal_mass, overlap_share = cloth.overlap,
  },
}
local mix = result {
  name = "epoxy_mix", unit = "g", digits = 5, meaning = "mixed epoxy, as much as cloth, waste added",
  value = laminate.resin_mass {cloth_mass = cloth_mass, resin_ratio = 1, waste = epoxy.waste},
}
local ratio = epoxy.mix_by_weight
local pots = resin.pots_by_mass {
  mixed_mass = mix, pot_limit = epoxy.pot_limit, resin_parts = ratio.resin,
  hardener_parts = ratio.hardener,
}
result {
  name = "epoxy_gel", unit = "min", digits = 3, meaning = "gel time of a pot at this temperature",
  value = resin.time_at_temperature {
    reference_time = epoxy.gel_time, reference_temperature = epoxy.gel_temperature,
    temperature = temperature, step = shop.cure_rules.A.step, factor = shop.cure_rules.A.factor,
  }.time,
}
result {
  name = "pots", value = pots.pots, working = pots.working, meaning = "pots, one after the other",
}
local pot_rows = {}
for i = 1, pots.pots do
  pot_rows[i] = {
    ["epoxy A resin"] = pots.resin_mass, ["epoxy A hardener"] = pots.hardener_mass,
  }
end
mix_sheet {
  name = "skin_mix", title = "Epoxy for the skin, by weight", scale_step = shop.shop.scale_step,
  parts = {
    {material = "epoxy A resin", mass = pots.resin_mass * pots.pots},
    {material = "epoxy A hardener", mass = pots.hardener_mass * pots.pots},
  },
  pots = pot_rows, working = pots.working,
}
check {
  name = "pot_not_over_limit", pass = pots.pot_mass <= epoxy.pot_limit, value = pots.pot_mass,
  limit = epoxy.pot_limit, unit = "g", level = "stop", meaning = "a pot stays cool enough",
  cure = "mix more, smaller pots; spread each on the job at once",
}

section "Sprayed putty"

local putty = shop.coatings["putty A"]
local thickness = input {
  name = "putty_thickness", default = 0.120*inch, low = 0.01*inch, high = 0.5*inch,
  meaning = "cured thickness to be sprayed",
}
local volume = result {
  name = "putty", unit = "gal", digits = 5, meaning = "putty to mix",
  value = coating.putty_volume {
    area = area, cured_thickness = thickness, volume_shrink = putty.shrinkage,
    transfer_efficiency = putty.transfer, hose_loss = putty.hose_loss,
  },
}
local mass = result {
  name = "putty_mass", unit = "lb", digits = 4, meaning = "the same by weight",
  value = coating.mix_mass {volume = volume, density = putty.density},
}
local peroxide = resin.peroxide {
  resin_mass = mass, peroxide_share = putty.catalyst, peroxide_density = putty.catalyst_density,
}
result {
  name = "peroxide", value = peroxide.peroxide_mass, unit = "g", digits = 4,
  meaning = "peroxide by weight, all passes together",
}
result {
  name = "peroxide_volume", value = peroxide.peroxide_volume, unit = "mL", digits = 4,
  meaning = "the same peroxide by volume",
}
local lay = coating.lay_thickness {cured_thickness = thickness, volume_shrink = putty.shrinkage}
local passes = coating.spray_passes {wet_thickness = lay, pass_limit = putty.hold_vertical}
result {
  name = "putty_passes", value = passes.passes, working = passes.working,
  meaning = "passes, so that a steep face does not run",
}
result {
  name = "pass_thickness", value = passes.pass_thickness, unit = "mil", digits = 3,
  meaning = "wet thickness of a pass, by the comb",
}
local pass_volume = result {
  name = "putty_per_pass", formula = "V_p = V / n", with = {V = volume, n = passes.passes},
  unit = "gal", digits = 4, meaning = "putty of one pass",
}
local putty_gel = resin.time_at_temperature {
  reference_time = putty.gel_time, reference_temperature = putty.gel_temperature,
  temperature = temperature, step = shop.cure_rules.A.step, factor = shop.cure_rules.A.factor,
}.time:to "min"
local needed = resin.pot_time {
  pot_volume = pass_volume, use_rate = putty.gun_rate, allowance = 5*min, pot_life = putty_gel,
}
result {
  name = "pot_needed", value = needed.time_needed, unit = "min", digits = 3,
  meaning = "from mixing to an empty, flushed gun",
}
check {
  name = "pot_lasts", pass = needed.time_needed <= putty_gel, value = needed.time_needed,
  limit = putty_gel, unit = "min", level = "stop", meaning = "a pass is sprayed before the pot gels",
  cure = "smaller pots, or spray in the cool of the morning",
}
mix_sheet {
  name = "putty_mix", title = "Putty, each pass", scale_step = shop.shop.scale_step,
  parts = {
    {material = "putty A", mass = mass / passes.passes, volume = pass_volume},
    {
      material = "peroxide", mass = peroxide.peroxide_mass / passes.passes,
      volume = peroxide.peroxide_volume / passes.passes,
    },
  },
  working = peroxide.working,
}

section "When it can be milled"

local function ready(rule)
  return resin.time_at_temperature {
    reference_time = putty.machinable_time, reference_temperature = putty.machinable_temperature,
    temperature = temperature, step = rule.step, factor = rule.factor,
  }.time
end
result {
  name = "machinable_early", value = ready(shop.cure_rules.A), unit = "h", digits = 4,
  meaning = "hours to machinable by rule A",
}
local late = result {
  name = "machinable_late", value = ready(shop.cure_rules.B), unit = "h", digits = 4,
  meaning = "hours to machinable by rule B: plan with this one",
}
local wait = input {
  name = "wait", default = 30*hr, low = 0*hr, meaning = "hours until the router is wanted",
}
check {
  name = "hard_enough", pass = late <= wait, value = late, limit = wait, unit = "h", level = "stop",
  meaning = "machinable by the slower rule before the router starts",
  cure = "wait longer or warm the plug",
}
local by_a, by_b = {}, {}
for t = 60, 90, 2 do
  local function at(rule)
    return resin.time_at_temperature {
      reference_time = putty.machinable_time,
      reference_temperature = putty.machinable_temperature, temperature = degF(t),
      step = rule.step, factor = rule.factor,
    }.time
  end
  by_a[#by_a + 1] = {degF(t), at(shop.cure_rules.A)}
  by_b[#by_b + 1] = {degF(t), at(shop.cure_rules.B)}
end
plot {
  name = "machinable_plot", title = "Hours to machinable against temperature",
  x = {label = "temperature", unit = "degF"}, y = {label = "time", unit = "h"},
  lines = {{label = "rule A", points = by_a}, {label = "rule B", points = by_b}},
}
note "A number does not clear a soft surface: try a witness panel from the same pot first."

section "Surfacer, sealer, gel coat"

local function coats(name, material, count, film, efficiency, meaning)
  return result {
    name = name, unit = "gal", digits = 4, meaning = material .. ", " .. meaning,
    value = coating.film_volume {
      area = area, wet_film = film, coats = count, transfer_efficiency = efficiency,
    },
  }
end
local surfacer = shop.coatings["surfacer A"]
coats("surfacer_per_coat", "surfacer A", 1, surfacer.coat, surfacer.transfer, "one coat")
coats("surfacer", "surfacer A", 3, surfacer.coat, surfacer.transfer, "all coats")
local dry = result {
  name = "surfacer_dry", unit = "mil", digits = 4, meaning = "dry surfacer before sanding",
  value = coating.dry_film {wet_film = surfacer.coat, coats = 3, solids = surfacer.solids},
}
result {
  name = "surfacer_left", unit = "mil", digits = 4, meaning = "surfacer left after sanding",
  value = coating.film_after_sanding {dry_film = dry, sanded_share = surfacer.sanded_away},
}
local sealer = shop.coatings["sealer A"]
coats("sealer", "sealer A", 2, sealer.coat, sealer.transfer, "all coats")
result {
  name = "sealer_dry", unit = "mil", digits = 3, meaning = "dry sealer",
  value = coating.dry_film {wet_film = sealer.coat, coats = 2, solids = sealer.solids},
}
if sealer.isocyanate then
  caution "isocyanate"
end
local gel_coat = shop.coatings["gel coat A"]
local gel_film = input {
  name = "gel_coat_film", default = gel_coat.coat, low = 1*mil,
  meaning = "wet film of one coat of gel coat, by the comb",
}
coats("gel_coat_on_mould", "gel coat A", 2, gel_film, nil, "what stays on the mould")
coats("gel_coat", "gel coat A", 2, gel_film, gel_coat.transfer, "all coats, overspray included")
