-- Bulk laminate of the hull mould: thickness, weight, resin and peroxide.

recipe {
  name = "Mould laminate", part = "Reedling hull mould", units = "inch", engine = 1,
}
local shop = shop_data "shop.yaml"
job {job = "Reedling", temperature = shop.shop.temperature}

local area = input {
  name = "area", default = q"30.785 ft^2", low = q"0.1 ft^2", meaning = "laminated area",
}
local light = input {name = "mats_0_75", default = 2, low = 0, high = 40, whole = true,
  meaning = "skin mats of 0.75 oz/ft^2"}
local heavy = input {name = "mats_1_5", default = 6, low = 0, high = 40, whole = true,
  meaning = "bulk mats of 1.5 oz/ft^2"}
local mould_resin = shop.resins["mould resin A"]

local function ply(mat)
  return laminate.ply_thickness {
    areal_mass = mat.areal_mass, fibre_weight_share = mould_resin.glass_share,
    fibre_density = mat.fibre_density, resin_density = mould_resin.cured_density,
  }
end
section "Thickness"
local thin = result {name = "ply_0_75", value = ply(shop.mats["mat 0.75"]), unit = "in", digits = 3,
  meaning = "one mat of 0.75 oz/ft^2"}
local thick = result {name = "ply_1_5", value = ply(shop.mats["mat 1.5"]), unit = "in", digits = 3,
  meaning = "one mat of 1.5 oz/ft^2"}
result {
  name = "thickness", formula = "t = n_1 * t_1 + n_2 * t_2",
  with = {n_1 = light, t_1 = thin, n_2 = heavy, t_2 = thick}, unit = "in", digits = 4,
  meaning = "laminate without gel coat",
}

section "Weight and resin"
local glass = result {
  name = "glass", formula = "w = n_1 * w_1 + n_2 * w_2",
  with = {
    n_1 = light, w_1 = shop.mats["mat 0.75"].areal_mass, n_2 = heavy,
    w_2 = shop.mats["mat 1.5"].areal_mass,
  },
  unit = "oz/ft^2", digits = 4, meaning = "glass of all mats on an area",
}
local on_area = laminate.areal_mass {
  areal_mass = glass, fibre_weight_share = mould_resin.glass_share,
}
result {name = "laminate_on_area", value = on_area.laminate, unit = "lb/ft^2", digits = 5,
  meaning = "laminate on an area"}
result {
  name = "laminate_mass", formula = "m = A * w", with = {A = area, w = on_area.laminate},
  unit = "lb", digits = 4, meaning = "weight of the laminate",
}
local bulk = result {
  name = "resin", formula = "m_r = A * w_r", with = {A = area, w_r = on_area.resin}, unit = "lb",
  digits = 4, meaning = "resin that stays in the laminate",
}
local ordered = result {
  name = "resin_with_waste", formula = "m = m_r * (1 + q)", with = {m_r = bulk, q = mould_resin.waste},
  unit = "lb", digits = 4, meaning = "resin to order and catalyse",
}
local peroxide = resin.peroxide {
  resin_mass = ordered, peroxide_share = mould_resin.catalyst,
  peroxide_density = mould_resin.catalyst_density,
}
result {name = "peroxide", value = peroxide.peroxide_mass, unit = "g", digits = 3,
  meaning = "peroxide for all of it; weigh each pot by itself"}
caution "lifting"
