-- Builds a display list: millimetres of paper, y downwards, items in the order of painting.

local list = {}
list.__index = list

function list.new(width, height, title, description)
  return setmetatable({width = width, height = height, title = title or "",
    description = description or "", items = {}}, list)
end

local function add(self, item)
  self.items[#self.items + 1] = item
  return item
end

function list:line(x1, y1, x2, y2, style)
  return add(self, {"line", x1, y1, x2, y2, style})
end
function list:polyline(points, style)
  return add(self, {"polyline", points, style})
end
function list:area(points, style)
  return add(self, {"area", points, style})
end
function list:rectangle(x, y, w, h, style)
  return add(self, {"rectangle", x, y, w, h, style})
end
function list:circle(x, y, radius, style)
  return add(self, {"circle", x, y, radius, style})
end
-- `turn` 90: reads upwards.
function list:text(x, y, text, size, anchor, turn)
  return add(self, {"text", x, y, text, size, "text", anchor = anchor or "start", turn = turn})
end

-- A dimension line with ticks; the text stands in the middle, beside the line.
function list:dimension(x1, y1, x2, y2, text, size)
  local upright = math.abs(x2 - x1) < math.abs(y2 - y1)
  local tick = size * 0.35
  self:line(x1, y1, x2, y2, "dimension")
  for _, p in ipairs {{x1, y1}, {x2, y2}} do
    self:line(p[1] - tick, p[2] + tick, p[1] + tick, p[2] - tick, "dimension")
  end
  local mx, my = (x1 + x2) / 2, (y1 + y2) / 2
  if upright then
    self:text(mx - size * 0.4, my, text, size, "middle", 90)
  else
    self:text(mx, my - size * 0.4, text, size, "middle")
  end
end

return list
