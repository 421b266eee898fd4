-- The layout of nesting.sheets as display lists, one a sheet, and as numbered cuts.
--
-- Reads {sheets = {{stock, length, width, thickness, pieces = {{name, x, y, length, width, turned,
-- part}}, cuts = {{number, part, direction, position, first, second}}, offcuts = {{x, y, length,
-- width, part}}}}, unplaced = {{name, count}}}; x runs along the length of the sheet, from the datum
-- corner at the lower left. Bars (nesting.bars) are the same without y and width.

local list = require "drawing/list"
local type_ = require "drawing/type"
local values = require "sheet/values"
local fitted = require "drawing/plot".fitted

local nest = {}

local WIDTH = 170 -- mm of paper
local LEFT, RIGHT, TOP, BOTTOM = 12, 2, 12, 8
local SIZE_MOST, SIZE_LEAST = 3.2, 1.9 -- mm, height of the letters

local function metres(value)
  return host.is_quantity(value) and host.convert(value, "m") or value
end

local BAR = 0.07 -- a bar is drawn this share of its length wide

local function size_text(piece, denominator)
  if piece.width == nil then
    return values.cut(piece.length, denominator)
  end
  return values.cut(piece.length, denominator) .. " x " .. values.cut(piece.width, denominator)
end

-- The largest letters with which these lines fit a box, or nil.
local function fit(lines, width, height)
  local size = SIZE_MOST
  while size >= SIZE_LEAST - 1e-9 do
    local widest = 0
    for _, line in ipairs(lines) do
      widest = math.max(widest, type_.width(line, size))
    end
    if widest <= width - 1 and #lines * size * 1.25 <= height - 0.6 then
      return size
    end
    size = size - 0.1
  end
  return nil
end

local function write_lines(out, lines, size, x, y, w, h)
  local top = y + h / 2 - (#lines - 1) * size * 1.25 / 2 + size * 0.3
  for i, line in ipairs(lines) do
    out:text(x + w / 2, top + (i - 1) * size * 1.25, line, size, "middle")
  end
end

local function hatch(out, x, y, w, h)
  local step = 4
  local s = step
  while s < w + h do
    out:line(x + math.max(0, s - h), y + math.min(s, h), x + math.min(s, w),
      y + math.max(0, s - w), "hatch")
    s = s + step
  end
end

-- Marks find their room among the texts that stand already: boxes {left, top, right, bottom}.
local MARK_SIZE = 2.1 -- mm, height of the letters
local MARKS_MOST = 60 -- with a leader, on one sheet; a fuller one is read by its key

local function room_on(out, left, top, right, bottom)
  local taken = {}
  for _, item in ipairs(out.items) do
    if item[1] == "text" then
      taken[#taken + 1] = {type_.box(item)}
    end
  end
  -- Writes the mark in its white field when nothing is there yet.
  return function(x, y, text, turn)
    local half = type_.width(text, MARK_SIZE) / 2 + 0.4
    local w, h = turn and MARK_SIZE * 0.7 or half, turn and half or MARK_SIZE * 0.7
    local a, b, c, d = x - w, y - h, x + w, y + h
    if a < left or b < top or c > right or d > bottom then
      return false
    end
    for _, o in ipairs(taken) do
      if a < o[3] and o[1] < c and b < o[4] and o[2] < d then
        return false
      end
    end
    taken[#taken + 1] = {a, b, c, d}
    out:rectangle(a, b, c - a, d - b, "mark")
    if turn then
      out:text(x + MARK_SIZE * 0.35, y, text, MARK_SIZE, "middle", 90)
    else
      out:text(x, y + MARK_SIZE * 0.35, text, MARK_SIZE, "middle")
    end
    return true
  end
end

-- The strips that the saw takes, from the cuts replayed: {number, text, x, y, length, width}.
local function saw_strips(sheet, kerf, denominator)
  local whole = {x = 0, y = 0, length = metres(sheet.length),
    width = sheet.width and metres(sheet.width) or metres(sheet.length) * BAR}
  local parts, strips = {whole}, {}
  for i, cut in ipairs(sheet.cuts or {}) do
    local part = parts[cut.part or 1]
    local at = metres(cut.position)
    if part then
      local along = cut.direction == "along"
      local axis, size = along and "y" or "x", along and "width" or "length"
      local function slice(from, to)
        local copy = {x = part.x, y = part.y, length = part.length, width = part.width}
        copy[axis], copy[size] = part[axis] + from, to - from
        return copy
      end
      local strip = slice(at, math.min(at + kerf, math.max(part[size], at)))
      strip.number, strip.along = cut.number or i, along
      strip.text = values.cut(cut.position, denominator)
      strips[#strips + 1] = strip
      if cut.first then
        parts[cut.first] = slice(0, at)
      end
      if cut.second then
        parts[cut.second] = slice(at + kerf, part[size])
      end
    end
  end
  return strips
end

-- Cuts as dashed lines with number and fence setting, as much of it as finds room.
local function draw_cuts(out, sheet, kerf, denominator, box, mark, upright)
  local strips = saw_strips(sheet, kerf, denominator)
  local middles = {}
  for i, strip in ipairs(strips) do
    local x, y, w, h = box(strip)
    local turn = strip.along == upright
    local x1, y1, x2, y2 = x, y + h / 2, x + w, y + h / 2
    if turn then
      x1, y1, x2, y2 = x + w / 2, y, x + w / 2, y + h
    end
    out:line(x1, y1, x2, y2, "cut")
    middles[i] = {x1, y1, x2, y2, turn}
  end
  for i, strip in ipairs(strips) do
    local x1, y1, x2, y2, turn = table.unpack(middles[i])
    local reach = turn and y2 - y1 or x2 - x1
    local placed = false
    for _, text in ipairs {string.format("cut %s: %s", strip.number, strip.text),
      "cut " .. strip.number} do
      if type_.width(text, MARK_SIZE) + 1 <= reach then
        for _, share in ipairs {0.5, 0.25, 0.75, 0.12, 0.88, 0.37, 0.63} do
          placed = placed or mark(x1 + (x2 - x1) * share, y1 + (y2 - y1) * share, text, turn)
        end
      end
    end
    for _, share in ipairs {0.5, 0.2, 0.8, 0.35, 0.65} do
      placed = placed or mark(x1 + (x2 - x1) * share, y1 + (y2 - y1) * share, "cut "
        .. strip.number, not turn)
    end
  end
end

-- The number of a piece that has no room for it, beside the piece and led to it.
local function draw_leaders(out, bare, mark)
  for i = 1, math.min(#bare, MARKS_MOST) do
    local x, y, text = table.unpack(bare[i])
    local placed = false
    for distance = 3, 27, 4 do
      for turn = 0, 11 do
        local a = x + distance * math.cos(turn * math.pi / 6)
        local b = y - distance * math.sin(turn * math.pi / 6)
        if not placed and mark(a, b, text) then
          placed = true
          out:line(x, y, a + (x - a) * 1.6 / distance, b + (y - b) * 1.6 / distance, "thin")
          out:circle(x, y, 0.25, "bar")
        end
      end
    end
  end
end

-- One sheet. A piece carries its number, name and size where they fit, else the number alone, inside
-- or led to it: `key` names each number with its size and place.
local function draw_sheet(sheet, name, kerf, denominator)
  local length = metres(sheet.length)
  local width = sheet.width and metres(sheet.width) or length * BAR
  local upright = width > length * 1.6 -- long side across the paper
  local across, down = length, width
  if upright then
    across, down = width, length
  end
  local scale = math.min((WIDTH - LEFT - RIGHT) / across, 150 / down)
  local pieces = sheet.pieces or {}
  local out = list.new(WIDTH, TOP + down * scale + BOTTOM, name,
    string.format("%d piece%s, to scale; the table after it names them.%s", #pieces,
      #pieces == 1 and "" or "s", #(sheet.cuts or {}) > 0
      and " Dashed lines are the saw cuts in their order, with the fence setting." or ""))
  local function box(part)
    local x, y = metres(part.x), part.y and metres(part.y) or 0
    local w, h = metres(part.length), part.width and metres(part.width) or width
    if upright then
      x, y, w, h = y, x, h, w
    end
    return LEFT + x * scale, TOP + (down - y - h) * scale, w * scale, h * scale
  end
  out:text(LEFT, 4, fitted(name, 3.2, WIDTH - LEFT - 1), 3.2)
  out:rectangle(LEFT, TOP, across * scale, down * scale, "sheet")
  for _, offcut in ipairs(sheet.offcuts or {}) do
    local x, y, w, h = box(offcut)
    out:rectangle(x, y, w, h, "offcut")
    hatch(out, x, y, w, h)
  end
  local key, bare = {}, {}
  for i, piece in ipairs(pieces) do
    local x, y, w, h = box(piece)
    local written = false
    out:rectangle(x, y, w, h, "piece")
    local text = tostring(piece.name or "piece " .. i)
    local turned = piece.turned and " (turned)" or ""
    local named = string.format("%d %s", i, text)
    local sizes = {values.cut(piece.length, denominator)}
    sizes[2] = piece.width and "x " .. values.cut(piece.width, denominator)
    for _, lines in ipairs {
      {named, table.concat(sizes, " ")}, {named, sizes[1], sizes[2]}, {named},
      {tostring(i), sizes[1], sizes[2]}, {tostring(i)},
    } do
      local letters = fit(lines, w, h)
      if letters then
        write_lines(out, lines, letters, x, y, w, h)
        written = true
        break
      end
      letters = #lines == 1 and h > w and fit(lines, h, w)
      if letters then
        local half = type_.width(lines[1], letters) / 2
        out:text(x + w / 2 + letters * 0.3, y + h / 2 + half, lines[1], letters, "start", 90)
        written = true
        break
      end
    end
    if not written then
      bare[#bare + 1] = {x + w / 2, y + h / 2, tostring(i)}
    end
    key[i] = {tostring(i), text .. turned, size_text(piece, denominator),
      values.cut(piece.x, denominator),
      piece.y and values.cut(piece.y, denominator)}
  end
  local mark = room_on(out, LEFT, TOP - 2, LEFT + across * scale, TOP + down * scale)
  draw_leaders(out, bare, mark)
  draw_cuts(out, sheet, kerf, denominator, box, mark, upright)
  local x, y = LEFT, TOP + down * scale
  local a, d = sheet.length, sheet.width
  if upright then
    a, d = d, a
  end
  out:dimension(x, y + 5.5, x + across * scale, y + 5.5, values.cut(a, denominator), 2.8)
  local upright_text = d and values.cut(d, denominator)
  if d and type_.width(upright_text, 2.8) <= down * scale then
    out:dimension(LEFT - 3.5, TOP, LEFT - 3.5, y, upright_text, 2.8)
  end
  return out, key
end

local function part_name(sheet, part)
  if part == nil or part == 0 then
    return nil
  end
  for i, piece in ipairs(sheet.pieces or {}) do
    if piece.part == part then
      return string.format("piece %d %s", i, tostring(piece.name or ""))
    end
  end
  for _, offcut in ipairs(sheet.offcuts or {}) do
    if offcut.part == part then
      return "offcut"
    end
  end
  return string.format("part %d", part)
end

-- The cuts in saw order: which part, along or across, fence setting, what falls off.
function nest.cuts(sheet, denominator)
  local lines = {}
  for i, cut in ipairs(sheet.cuts or {}) do
    local what = (cut.part == nil or cut.part == 1) and (sheet.width and "the sheet" or "the bar") or part_name(sheet, cut.part)
    local gives = {}
    for _, side in ipairs {"first", "second"} do
      gives[#gives + 1] = part_name(sheet, cut[side])
    end
    lines[i] = string.format("cut %s %s, fence at %s%s", what, cut.direction or "across",
      values.cut(cut.position, denominator),
      #gives > 0 and ": gives " .. table.concat(gives, " and ") or "")
  end
  return lines
end

-- What the saw takes, in metres: the layout's own, told by its working.
local function kerf_of(layout)
  for _, input in ipairs(type(layout.working) == "table" and layout.working.inputs or {}) do
    if input.name == "kerf" then
      return metres(input.value)
    end
  end
  return 0
end

-- A layer of a stack as it lies on the plug, drawn like a sheet without cuts.
local function as_sheet(layer)
  local copy = {length = layer.length, width = layer.width, pieces = {}}
  for i, piece in ipairs(layer.pieces or {}) do
    copy.pieces[i] = {name = piece.name, x = piece.x - layer.x, y = piece.y - layer.y,
      length = piece.length, width = piece.width}
  end
  return copy
end

-- A list of {title =, picture =, columns =, rows =, cuts =}: each sheet, then each layer of a stack.
function nest.draw(layout, title, denominator)
  local drawn = {}
  local function add(sheet, short, full, kerf)
    local picture, key = draw_sheet(sheet, full, kerf, denominator)
    drawn[#drawn + 1] = {
      title = short, picture = picture,
      columns = {{title = "no.", align = "right"}, {title = "piece"},
        {title = sheet.width and "length x width" or "length"}, {title = "from the end"},
        sheet.width and {title = "from the side"} or nil},
      rows = key, cuts = nest.cuts(sheet, denominator),
    }
  end
  local all = layout.sheets or layout.bars or {}
  for n, sheet in ipairs(all) do
    local kind = sheet.width and "sheet" or "bar"
    add(sheet, string.format("%s %d", kind, n), string.format("%s, %s %d of %d: %s, %s", title, kind,
      n, #all, tostring(sheet.stock or "stock"), size_text(sheet, denominator)), kerf_of(layout))
  end
  for _, layer in ipairs(layout.layers or {}) do
    local name = "layer " .. tostring(layer.name)
    add(as_sheet(layer), name, string.format("%s, %s from %s to %s: %s", title, name,
      values.cut(layer.bottom, denominator), values.cut(layer.top, denominator),
      size_text(layer, denominator)), 0)
  end
  return drawn
end

return nest
