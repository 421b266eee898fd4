-- Foam for the hull plug: which sheets to order, how to cut them, how much glue to mix.

recipe {
  name = "Plug stock", part = "Reedling hull plug", units = "inch", engine = 1,
  note = "Pieces of five layers on the base board, from the section at the foot of each layer.",
}
job {job = "Reedling", lots = "foam:        glue:"}

local shop = shop_data "shop.yaml"
local sheet = shop.foams["foam 2 lb"]
local glue = shop.adhesives["foam glue"]

local kerf = input {
  name = "kerf", default = sheet.kerf, low = 0*inch, high = 1/4*inch,
  meaning = "width that the saw takes",
}
local widen = input {
  name = "widen_layer_3", default = 0*inch, low = 0*inch, high = 2*inch,
  meaning = "more width on layer 3 than its allowance asks",
}

section "Layers"

-- Outline of the layers, bottom to top: length along the plug and width across it, each with the
-- allowances of the shop (flange 0.5 all round, ends 0.75, sides 0.75 / 0.30 / 0.60 / 0.75).
local layers = {
  {name = "layer 1", length = q"129 in", width = q"30 in"},
  {name = "layer 2", length = q"121.5 in", width = q"22 in"},
  {name = "layer 3", length = q"121.5 in", width = q"17.75 in" + widen},
  {name = "layer 4", length = q"99.5 in", width = q"14.5 in"},
  {name = "layer 5", length = q"58.25 in", width = q"9.25 in"},
}
local rows = {}
for i, layer in ipairs(layers) do
  rows[i] = {layer.name, layer.length, layer.width}
end
tabulate {
  name = "layers", title = "Outline of each layer, allowances included",
  columns = {{title = "layer"}, {title = "length", unit = "in"}, {title = "width", unit = "in"}},
  rows = rows,
}

section "Cutting the sheets"

local pieces = {
  {name = "A", length = 96*inch, width = 24*inch},
  {name = "B", length = 33*inch, width = 24*inch},
  {name = "C", length = 96*inch, width = 6*inch},
  {name = "D", length = 33*inch, width = 6*inch},
  {name = "E", length = 96*inch, width = 22*inch},
  {name = "F", length = 25.5*inch, width = 22*inch},
  {name = "G", length = 96*inch, width = 17.75*inch + widen},
  {name = "H", length = 25.5*inch, width = 17.75*inch + widen},
  {name = "I", length = 60*inch, width = 14.5*inch},
  {name = "J", length = 39.5*inch, width = 14.5*inch},
  {name = "K", length = 58.25*inch, width = 9.25*inch},
}
local layout = nesting.sheets {
  pieces = pieces,
  stock = {{name = "foam sheet", length = sheet.length, width = sheet.width, cost = sheet.price}},
  kerf = kerf, effort = 1000000, -- enough as long as the count meets its bound
}
local sheets = result {
  name = "foam_sheets", value = layout.count, working = layout.working,
  meaning = "foam sheets to order",
}
result {
  name = "sheets_at_least", value = layout.bound, working = layout.working,
  meaning = "no cutting can do with fewer sheets",
}
result {
  name = "used", value = layout.used, unit = "%", digits = 3, working = layout.working,
  meaning = "share of the sheets that ends in pieces",
}
drawing {name = "cutting", title = "Cutting plan", nest = layout}
cut_list {name = "pieces", title = "Pieces to cut", pieces = pieces, denominator = 64}
check {
  name = "all_pieces_placed", pass = #layout.unplaced == 0, level = "stop",
  meaning = "every piece has its place on a sheet", cure = "order more or larger sheets",
}

section "Cost and weight"

result {
  name = "foam_cost", formula = "C = n * p", with = {n = sheets, p = sheet.price}, unit = "USD",
  meaning = "price of the sheets",
}
result {
  name = "foam_mass", formula = "m = n * L * W * t * rho",
  with = {n = sheets, L = sheet.length, W = sheet.width, t = sheet.thickness, rho = sheet.density},
  unit = "lb", digits = 3, meaning = "weight of the sheets as delivered",
}

section "Glue between the layers"

-- Each layer is glued to what lies under it over its whole outline, the first to the base board.
local bond = 0*inch^2
for i = 2, #layers do
  bond = bond + layers[i].length * layers[i].width
end
local bond_area = result {
  name = "bond_area", value = bond, unit = "ft^2", digits = 4,
  working = "sum of length * width of layers 2 to 5", source = "outlines above",
  meaning = "area to be glued",
}
result {
  name = "glue", value = laminate.glue_mass {
    area = bond_area, spread = glue.coverage, waste = glue.waste,
  }, unit = "g", digits = 3, meaning = "mixed glue, waste included",
}
note "Stagger the butt joints of neighbouring layers; keep them off the crest."
