-- A plot as a display list: axes with round ticks, units in the labels, legend below the frame.

local list = require "drawing/list"
local styles = require "drawing/styles"
local type_ = require "drawing/type"

local plot = {}

local WIDTH, FRAME = 170, 85 -- mm: fits the width of letter and A4 between margins
local LEFT, RIGHT, TOP = 24, 8, 12
local SIZE = 3 -- mm, height of the letters

-- Round ticks that cover low .. high: step 1, 2 or 5 times a power of ten.
function plot.ticks(low, high, most)
  if high <= low then
    local room = math.abs(low) * 0.1
    if room == 0 then
      room = 1
    end
    low, high = low - room, high + room
  end
  local raw = (high - low) / (most or 6)
  local power = 10.0 ^ math.floor(math.log(raw, 10))
  local step = power * 10
  for _, factor in ipairs {1, 2, 5} do
    if factor * power >= raw * (1 - 1e-9) then
      step = factor * power
      break
    end
  end
  local first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
  local ticks = {}
  for i = first, last do
    ticks[#ticks + 1] = i * step
  end
  return ticks
end

-- The number of a value on an axis with unit.
local function on_axis(value, unit)
  if host.is_quantity(value) then
    if unit then
      return host.convert(value, unit)
    end
    return (host.shown(value))
  end
  return value
end

local function label(axis)
  local text = axis.label or ""
  return axis.unit and axis.unit ~= "1" and string.format("%s, %s", text, axis.unit) or text
end

local function tick_text(value)
  return host.number(value, 6)
end

-- "limit: ridge, 1 thou"
local function limit_text(limit, item)
  local axis = limit.x and item.x or item.y
  local text = host.number(on_axis(limit.x or limit.y, axis.unit), 6)
  if axis.unit and axis.unit ~= "1" then
    text = text .. " " .. axis.unit
  end
  local name = limit.label or "limit"
  return string.format("%s%s: %s", name:find("limit", 1, true) and "" or "limit, ", name, text)
end

local function mark(out, kind, x, y, style)
  local r = 0.9
  if kind == "square" then
    out:rectangle(x - r, y - r, 2 * r, 2 * r, style)
  elseif kind == "triangle" then
    out:area({x, y - 1.2 * r, x + 1.1 * r, y + r, x - 1.1 * r, y + r}, style)
  elseif kind == "diamond" then
    out:area({x, y - 1.3 * r, x + 1.3 * r, y, x, y + 1.3 * r, x - 1.3 * r, y}, style)
  elseif kind == "cross" then
    out:line(x - r, y - r, x + r, y + r, style)
    out:line(x - r, y + r, x + r, y - r, style)
  else
    out:circle(x, y, r, style)
  end
end

-- Cuts a text to a width, with an ellipsis.
local function fitted(text, size, width)
  if type_.width(text, size) <= width then
    return text
  end
  local letters, kept = type_.letters(text), ""
  for _, code in ipairs(letters) do
    local next_text = kept .. utf8.char(code)
    if type_.width(next_text .. "...", size) > width then
      break
    end
    kept = next_text
  end
  return kept .. "..."
end

function plot.draw(item)
  local low_x, high_x, low_y, high_y
  local function widen(x, y)
    if x then
      low_x, high_x = math.min(low_x or x, x), math.max(high_x or x, x)
    end
    if y then
      low_y, high_y = math.min(low_y or y, y), math.max(high_y or y, y)
    end
  end
  local lines = {}
  for i, line in ipairs(item.lines or {}) do
    local points = {}
    for j, point in ipairs(line.points or {}) do
      points[j] = {on_axis(point[1], item.x.unit), on_axis(point[2], item.y.unit)}
      widen(points[j][1], points[j][2])
    end
    lines[i] = {label = line.label or "line " .. i, points = points}
  end
  local limits = {}
  for i, limit in ipairs(item.limits or {}) do
    limits[i] = {label = limit_text(limit, item), x = limit.x and on_axis(limit.x, item.x.unit),
      y = limit.y and on_axis(limit.y, item.y.unit)}
    widen(limits[i].x, limits[i].y)
  end
  local ticks_x, ticks_y = plot.ticks(low_x or 0, high_x or 1, 8),
    plot.ticks(low_y or 0, high_y or 1, 6)
  local keys = #lines + #limits
  local height = TOP + FRAME + 14 + keys * 5
  local title = item.title or item.name or "plot"
  local out = list.new(WIDTH, height, title, string.format("Plot of %s against %s with %d line%s. "
    .. "The table after it holds the numbers.", label(item.y), label(item.x), #lines,
    #lines == 1 and "" or "s"))
  local inner = WIDTH - LEFT - RIGHT
  local x0, x1, y0, y1 = ticks_x[1], ticks_x[#ticks_x], ticks_y[1], ticks_y[#ticks_y]
  local function px(x)
    return LEFT + (x - x0) / (x1 - x0) * inner
  end
  local function py(y)
    return TOP + FRAME - (y - y0) / (y1 - y0) * FRAME
  end
  out:text(LEFT, 5, fitted(title, 3.6, WIDTH - LEFT), 3.6)
  local free = 0 -- from where on the next number has room
  for _, x in ipairs(ticks_x) do
    out:line(px(x), TOP, px(x), TOP + FRAME, "grid")
    local half = type_.width(tick_text(x), SIZE) / 2
    if px(x) - half >= free and px(x) + half <= WIDTH then
      out:text(px(x), TOP + FRAME + 4.8, tick_text(x), SIZE, "middle")
      free = px(x) + half + 1
    end
  end
  for _, y in ipairs(ticks_y) do
    out:line(LEFT, py(y), LEFT + inner, py(y), "grid")
    out:text(LEFT - 1.5, py(y) + 1, tick_text(y), SIZE, "end")
  end
  out:rectangle(LEFT, TOP, inner, FRAME, "frame")
  out:text(LEFT + inner / 2, TOP + FRAME + 9.5, fitted(label(item.x), SIZE, inner), SIZE, "middle")
  out:text(5, TOP + FRAME / 2, fitted(label(item.y), SIZE, FRAME), SIZE, "middle", 90)
  for _, limit in ipairs(limits) do
    if limit.x then
      out:line(px(limit.x), TOP, px(limit.x), TOP + FRAME, "limit")
    end
    if limit.y then
      out:line(LEFT, py(limit.y), LEFT + inner, py(limit.y), "limit")
    end
  end
  for i, line in ipairs(lines) do
    local n = (i - 1) % #styles.series + 1
    local flat = {}
    for _, point in ipairs(line.points) do
      flat[#flat + 1] = px(point[1])
      flat[#flat + 1] = py(point[2])
    end
    if #line.points > 1 then
      out:polyline(flat, "series " .. n)
    end
    local every = math.max(1, math.ceil(#line.points / 24))
    for j = 1, #line.points, every do
      mark(out, styles.series[n].mark, flat[2 * j - 1], flat[2 * j], "mark " .. n)
    end
  end
  local y = TOP + FRAME + 15
  for i, line in ipairs(lines) do
    local n = (i - 1) % #styles.series + 1
    out:line(LEFT, y, LEFT + 14, y, "series " .. n)
    mark(out, styles.series[n].mark, LEFT + 7, y, "mark " .. n)
    out:text(LEFT + 16, y + 1, fitted(line.label, SIZE, inner - 16), SIZE)
    y = y + 5
  end
  for _, limit in ipairs(limits) do
    out:line(LEFT, y, LEFT + 14, y, "limit")
    out:text(LEFT + 16, y + 1, fitted(limit.label, SIZE, inner - 16), SIZE)
    y = y + 5
  end
  return out
end

-- The numbers of a plot: one row a point; lines over the same x share their rows.
function plot.table(item)
  local same = true
  local lines = item.lines or {}
  local first = lines[1] and lines[1].points or {}
  for _, line in ipairs(lines) do
    same = same and #line.points == #first
    for j, point in ipairs(line.points) do
      same = same and first[j] and on_axis(first[j][1], item.x.unit) == on_axis(point[1], item.x.unit)
    end
  end
  local function cell(value, unit)
    return host.number(on_axis(value, unit), 5)
  end
  local columns, rows = {}, {}
  if same then
    columns[1] = {title = label(item.x), align = "right"}
    for i, line in ipairs(lines) do
      columns[i + 1] = {title = #lines == 1 and label(item.y)
        or string.format("%s: %s", line.label or "line " .. i, label(item.y)), align = "right"}
    end
    for j, point in ipairs(first) do
      rows[j] = {cell(point[1], item.x.unit)}
      for i, line in ipairs(lines) do
        rows[j][i + 1] = cell(line.points[j][2], item.y.unit)
      end
    end
  else
    columns = {{title = "line"}, {title = label(item.x), align = "right"},
      {title = label(item.y), align = "right"}}
    for i, line in ipairs(lines) do
      for _, point in ipairs(line.points) do
        rows[#rows + 1] = {line.label or "line " .. i, cell(point[1], item.x.unit),
          cell(point[2], item.y.unit)}
      end
    end
  end
  for _, limit in ipairs(item.limits or {}) do
    rows[#rows + 1] = {limit_text(limit, item)}
  end
  return columns, rows
end

plot.fitted = fitted

return plot
