-- Tube for the rigger mock-up: sticks to buy, how to cut them, where the holes go.

recipe {
  name = "Tube mock-up", part = "Reedling rigger mock-up", units = "inch", engine = 1,
}
local shop = shop_data "shop.yaml"
job {job = "Reedling", lots = "tube:"}

section "Cutting the sticks"

local tube = shop.tubes["round .750"]
local pieces = {
  {name = "stay", length = q"27 5/8 in", count = 12},
  {name = "spreader", length = q"14 3/16 in", count = 6},
  {name = "backstay", length = q"40 7/8 in", count = 6},
}
local trimmed = result {
  name = "trimmed", formula = "L = S - e", with = {S = tube.stick_length, e = tube.end_trim},
  unit = "in", digits = 6, meaning = "stick once its factory end is trimmed: measure from there",
}
local layout = nesting.bars {
  pieces = pieces, stock = {{name = "trimmed stick", length = trimmed}}, kerf = tube.kerf,
  effort = 1000000, -- enough as long as the count meets its bound
}
local sticks = result {
  name = "sticks", value = layout.count, working = layout.working, meaning = "sticks to buy",
}
result {
  name = "sticks_at_least", value = layout.bound, working = layout.working,
  meaning = "no cutting can do with fewer",
}
result {
  name = "used", value = layout.used, unit = "%", digits = 3, working = layout.working,
  meaning = "share of the trimmed sticks that ends in pieces",
}
drawing {name = "cutting", title = "Cutting plan", nest = layout}
cut_list {name = "pieces", title = "Pieces to cut", pieces = pieces, denominator = 64}
check {
  name = "all_pieces_placed", pass = #layout.unplaced == 0, level = "stop",
  meaning = "every piece has its place on a stick", cure = "buy longer sticks",
}
local section_area = result {
  name = "section_area", formula = "A = pi * w * (D - w)", with = {w = tube.wall, D = tube.outside},
  unit = "in^2", digits = 4, meaning = "metal in the tube's section",
}
result {
  name = "tube_mass", formula = "m = n * L * A * rho",
  with = {n = sticks, L = tube.stick_length, A = section_area, rho = tube.density}, unit = "lb",
  digits = 3, meaning = "weight of the sticks as bought",
}

section "Row of holes"

local first = input {
  name = "first_hole", default = q"2 1/8 in", low = 0*inch, high = 144*inch,
  meaning = "first hole from the end of the tube",
}
local last = input {
  name = "last_hole", default = q"61 3/8 in", low = 0*inch, high = 144*inch,
  meaning = "last hole from the end of the tube",
}
local holes = input {
  name = "holes", default = 12, low = 2, high = 200, whole = true, meaning = "holes in the row",
}
local pitch = result {
  name = "pitch", formula = "p = (b - a) / (n - 1)", with = {a = first, b = last, n = holes},
  unit = "in", digits = 7, meaning = "exact pitch",
}
local rounded = round_to(pitch, inch / 64, "nearest")
result {
  name = "chained_error", formula = "e = a + (n - 1) * p_r - b",
  with = {a = first, b = last, n = holes, p_r = rounded}, unit = "in", digits = 3,
  meaning = "what stepping the rounded pitch off hole by hole adds up to",
}
local worst, rows = 0*inch, {}
for i = 1, holes do
  local exact = first + (i - 1) * pitch
  local mark = round_to(exact, inch / 64, "nearest")
  local text, off = exact:fraction(64)
  rows[i] = {i, text, off}
  if (mark - exact):abs() > worst then
    worst = (mark - exact):abs()
  end
end
tabulate {
  name = "marks", title = "Marks, each measured from the end of the tube",
  columns = {
    {title = "hole"}, {title = "mark"}, {title = "off the exact place", unit = "mil", digits = 2},
  },
  rows = rows,
}
result {
  name = "worst_mark", value = worst, unit = "mil", digits = 2, meaning = "worst mark of the row",
  working = "largest distance of a mark from its exact place", source = "marks above",
}

section "Edge distance"

local hole = input {
  name = "hole_diameter", default = 0.250*inch, low = 0.05*inch, high = 1*inch,
  meaning = "diameter of the end hole",
}
local edge = input {
  name = "edge_distance", default = 1/2*inch, low = 0*inch, high = 12*inch,
  meaning = "centre of the end hole from the end",
}
local share = result {
  name = "edge_diameters", formula = "k = e / D", with = {e = edge, D = hole}, digits = 3,
  meaning = "edge distance in hole diameters",
}
check {
  name = "edge_distance", pass = share >= 2, value = share, limit = 2, level = "stop",
  meaning = "two hole diameters to the end (common practice, no source)",
  cure = "move the hole in or drill it smaller",
}
