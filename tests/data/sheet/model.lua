-- An invented job: every kind of item once, with names that would break a careless writer.
-- Called with the number of pieces of the nest, and returns the sheet model.
local count = ...
local nasty = [[<b>A & "B"</b> | * _ ]] .. "\u{1F6E0} \u{5D0}\u{5D1}\u{5D2}"
local long = "forty characters of a name for one piece"

local working = milling.scallop_height and select(2, milling.scallop_height {
  cutter_diameter = q"1 in", stepover = q"25 thou",
}) or nil

local pieces, offcuts, cuts = {}, {}, {}
local across = math.max(1, math.ceil(math.sqrt(count)))
local w, h = 96 / across, 48 / across
for i = 1, count do
  local column, row = (i - 1) % across, (i - 1) // across
  pieces[i] = {name = i % 3 == 0 and long or i % 7 == 0 and nasty or "rib " .. i, x = column * w * inch,
    y = row * h * inch, length = (w - 1 / 8) * inch, width = (h - 1 / 8) * inch, turned = i % 5 == 0,
    part = i + 1}
  cuts[i] = {number = i, part = 1, direction = i % 2 == 0 and "along" or "across",
    position = (w * i % 90 + 0.01) * inch, first = i + 1}
end
if count < across * across then
  offcuts[1] = {x = (across - 1) * w * inch, y = (across - 1) * h * inch, length = w * inch,
    width = h * inch, part = count + 2}
end

local function curve(f, n)
  local points = {}
  for i = 0, n - 1 do
    points[i + 1] = {i * 10 * q"1 thou", f(i) * q"1 thou"}
  end
  return points
end

return {
  recipe = {name = "plug " .. nasty, part = "Plug of a test hull " .. nasty, units = "inch", engine = 1,
    file = "test.lua", digest = "0123456789abcdef"},
  job = {{name = "job", label = "Job", value = "T-1"}, {name = "operator", label = "Operator"},
    {name = "date", label = "Date"},
    {name = "temperature", label = "Shop temperature", value = degF(64)},
    {name = "lots", label = "Lots"}, {name = "revision", label = "Revision", value = "B"}},
  shop = {file = "shop.yaml", digest = "fedcba"},
  engine = {version = "0.0", results_revision = 1},
  inputs = {
    {name = "stepover", label = "stepover", value = q"25 thou", unit = "in", low = q"5 thou",
      high = q"0.1 in", meaning = "distance between passes", set = true},
    {name = "coats", label = "coats", value = 3},
    {name = "cloth", label = "cloth", value = "mat | 450", choices = {"mat | 450", "woven"}},
  },
  items = {
    {kind = "section", text = "Milling " .. nasty},
    {kind = "result", name = "scallop_height", meaning = "ridge left by the ball", value = q"0.156 thou",
      unit = "thou", digits = 3, working = working, band = {low = q"0.14 thou", high = q"0.18 thou",
      guesses = {"cutters/ball/diameter"}}, stale = true},
    {kind = "check", name = "reach", meaning = "the holder clears the flange", pass = false,
      level = "stop", value = q"3 in", limit = q"2 1/2 in", cure = "take the longer cutter"},
    {kind = "check", name = "dust", pass = true, level = "warn"},
    {kind = "caution", name = "exotherm"},
    {kind = "mix_sheet", name = "putty", title = "Putty", scale_step = q"5 g",
      parts = {{material = "resin", mass = q"1472.4 g", volume = q"1280 mL"},
        {material = "hardener " .. nasty, mass = q"29.4 g"}},
      pots = {{mass = q"700 g", material = "all"}, {resin = q"68.6 g", hardener = q"31.4 g"}, q"99 g", "rest"}},
    {kind = "cut_list", name = "tubes", title = "Tubes", denominator = 16, pieces = {
      {name = long, length = q"30.51 in", count = 4, from = "12 ft stick"},
      {name = nasty, length = q"2 1/2 in", width = q"1 in", count = 1}}},
    {kind = "table", name = "temps", title = "Log", columns = {{title = "time", unit = "h", digits = 3},
      {title = "shop", unit = "degF", digits = 3}, {title = "note"}},
      rows = {{q"1 h", degF(64), "a|b"}, {q"2 h", degF(66), ""}}},
    {kind = "plot", name = "scallop", title = "Scallop against stepover " .. nasty,
      x = {label = "stepover", unit = "thou"}, y = {label = "scallop", unit = "thou"},
      lines = {{label = "1 in ball", points = curve(function(i) return i * i / 40 end, 12)},
        {label = nasty, points = curve(function(i) return -i / 10 end, 12)}},
      limits = {{label = "most", y = q"3 thou"}}},
    {kind = "plot", name = "one point", x = {label = "x"}, y = {label = "y", unit = "in"},
      lines = {{label = "only", points = {{1, q"-2 in"}}}}},
    {kind = "plot", name = "constant", x = {label = "x"}, y = {label = "y"},
      lines = {{label = "flat", points = {{1, 5}, {2, 5}, {3, 5}}}}},
    {kind = "drawing", name = "section", title = "Section", unit = "in", shapes = {
      {kind = "area", points = {{q"0 in", q"0 in"}, {q"8 in", q"0 in"}, {q"8 in", q"3 in"}}},
      {kind = "line", points = {{q"0 in", q"0 in"}, {q"8 in", q"3 in"}}},
      {kind = "dimension", points = {{q"0 in", q"-0.5 in"}, {q"8 in", q"-0.5 in"}}},
      {kind = "circle", x = q"6 in", y = q"1 in", radius = q"1/2 in"},
      {kind = "text", x = q"7 in", y = q"2 in", text = nasty}}},
    {kind = "drawing", name = "foam", title = "Foam " .. nasty,
      nest = {sheets = {{stock = "board", length = q"96 in", width = q"48 in", pieces = pieces,
        cuts = cuts, offcuts = offcuts}}, unplaced = {{name = "rudder", count = 2}}}},
    {kind = "note", text = nasty},
  },
  cautions = {"dust", "spindle", "exotherm"},
  warnings = {{place = "test.lua:9: ", message = "scallop " .. nasty}},
  taken = {{recipe = "stock.lua", result = "foam_mass", value = q"12 lb", stale = true}},
  budget = {effort = 1000, time_limited = false},
}
