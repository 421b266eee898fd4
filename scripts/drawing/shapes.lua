-- Shapes of a recipe's drawing{} in model units, scaled to the paper, with a check bar.
--
-- Each shape is {kind = "area" | "line" | "text" | "dimension" | "circle", ...}: points = {{x, y},
-- ...} for area, line and dimension (two points), x and y for text and circle, text, radius.

local list = require "drawing/list"
local plot = require "drawing/plot"
local type_ = require "drawing/type"
local values = require "sheet/values"

local shapes = {}

local WIDTH, MARGIN = 170, 14

local function point(p)
  return p[1] or p.x, p[2] or p.y
end

function shapes.draw(item)
  local unit = item.unit or (host.habit() == "metric" and "mm" or "in")
  local function number(value)
    return host.is_quantity(value) and host.convert(value, unit) or value or 0
  end
  local low_x, high_x, low_y, high_y
  local function widen(x, y)
    low_x, high_x = math.min(low_x or x, x), math.max(high_x or x, x)
    low_y, high_y = math.min(low_y or y, y), math.max(high_y or y, y)
  end
  local read = {}
  for i, shape in ipairs(item.shapes or {}) do
    local kind = shape.kind or shape[1]
    local copy = {kind = kind, text = shape.text, points = {}, radius = number(shape.radius)}
    for j, p in ipairs(shape.points or {}) do
      local x, y = point(p)
      copy.points[j] = {number(x), number(y)}
    end
    if shape.x or shape.y then
      copy.points[1] = {number(shape.x), number(shape.y)}
    end
    for _, p in ipairs(copy.points) do
      widen(p[1] - copy.radius, p[2] - copy.radius)
      widen(p[1] + copy.radius, p[2] + copy.radius)
    end
    if kind == "dimension" and #copy.points == 2 and not copy.text then
      local a, b = copy.points[1], copy.points[2]
      copy.text = host.number(math.sqrt((a[1] - b[1]) ^ 2 + (a[2] - b[2]) ^ 2), 5) .. " " .. unit
    end
    read[i] = copy
  end
  if item.width then
    widen(0, 0)
    widen(number(item.width), low_y)
  end
  if item.height then
    widen(low_x or 0, 0)
    widen(low_x or 0, number(item.height))
  end
  low_x, high_x, low_y, high_y = low_x or 0, high_x or 1, low_y or 0, high_y or 1
  local span_x, span_y = math.max(high_x - low_x, 1e-12), math.max(high_y - low_y, 1e-12)
  local scale = math.min((WIDTH - 2 * MARGIN) / span_x, 150 / span_y)
  local title = item.title or item.name or "drawing"
  local out = list.new(WIDTH, 10 + (high_y - low_y) * scale + 30, title,
    string.format("Drawing with %d shapes, to the scale of its check bar.", #read))
  local function px(p)
    return MARGIN + (p[1] - low_x) * scale
  end
  local function py(p)
    return 14 + (high_y - p[2]) * scale
  end
  out:text(2, 5, plot.fitted(title, 3.6, WIDTH - 4), 3.6)
  for _, shape in ipairs(read) do
    local flat = {}
    for _, p in ipairs(shape.points) do
      flat[#flat + 1] = px(p)
      flat[#flat + 1] = py(p)
    end
    if shape.kind == "area" and #flat >= 6 then
      out:area(flat, "area")
    elseif shape.kind == "line" and #flat >= 4 then
      out:polyline(flat, "outline")
    elseif shape.kind == "circle" and #flat == 2 then
      out:circle(flat[1], flat[2], shape.radius * scale, "circle")
    elseif shape.kind == "text" and #flat == 2 then
      local text = plot.fitted(tostring(shape.text or ""), 3, WIDTH - 4)
      local room = WIDTH - 2 - type_.width(text, 3)
      out:text(math.max(2, math.min(flat[1], room)), flat[2], text, 3)
    elseif shape.kind == "dimension" and #flat == 4 then
      out:dimension(flat[1], flat[2], flat[3], flat[4], tostring(shape.text), 2.8)
    end
  end
  -- The bar is the longest round length below a third of the width.
  local ticks = plot.ticks(0, (WIDTH - 2 * MARGIN) / scale / 3, 1)
  local bar = ticks[2]
  local y = out.height - 6
  out:rectangle(MARGIN, y, bar * scale, 1.5, "bar")
  out:text(MARGIN, y - 1.5, "check bar " .. host.number(bar, 4) .. " " .. unit, 2.8)
  return out
end

-- The numbers of a drawing as a table.
function shapes.table(item)
  local rows = {}
  for i, shape in ipairs(item.shapes or {}) do
    local places = {}
    for j, p in ipairs(shape.points or {}) do
      local x, y = point(p)
      places[j] = string.format("(%s, %s)", values.text(x), values.text(y))
    end
    if shape.x or shape.y then
      places[#places + 1] = string.format("(%s, %s)", values.text(shape.x), values.text(shape.y))
    end
    if shape.radius then
      places[#places + 1] = "radius " .. values.text(shape.radius)
    end
    rows[i] = {tostring(shape.kind or shape[1] or ""), table.concat(places, " "),
      tostring(shape.text or "")}
  end
  return {{title = "shape"}, {title = "points"}, {title = "text"}}, rows
end

return shapes
