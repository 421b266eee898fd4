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

-- One sheet. A piece carries its number, name and size where they fit, else the number alone, else
-- nothing: `key` names each number with its size and place.
local function draw_sheet(sheet, n, count, title, denominator)
  local length = metres(sheet.length)
  local width = sheet.width and metres(sheet.width) or length * BAR
  local upright = width > length * 1.6 -- long side across the paper
  local across, down = length, width
  if upright then
    across, down = width, length
  end
  local scale = math.min((WIDTH - LEFT - RIGHT) / across, 150 / down)
  local name = string.format("%s, %s %d of %d: %s, %s", title, sheet.width and "sheet" or "bar", n,
    count, tostring(sheet.stock or "stock"), size_text(sheet, denominator))
  local pieces = sheet.pieces or {}
  local out = list.new(WIDTH, TOP + down * scale + BOTTOM, name,
    string.format("%d piece%s, to scale; the table after it names them.", #pieces,
      #pieces == 1 and "" or "s"))
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
  local key = {}
  for i, piece in ipairs(pieces) do
    local x, y, w, h = box(piece)
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
        break
      end
      letters = #lines == 1 and h > w and fit(lines, h, w)
      if letters then
        local half = type_.width(lines[1], letters) / 2
        out:text(x + w / 2 + letters * 0.3, y + h / 2 + half, lines[1], letters, "start", 90)
        break
      end
    end
    key[i] = {tostring(i), text .. turned, size_text(piece, denominator),
      values.cut(piece.x, denominator),
      piece.y and values.cut(piece.y, denominator)}
  end
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
    local what = (cut.part == nil or cut.part == 1) and "the sheet" or part_name(sheet, cut.part)
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

-- A list of {picture =, columns =, rows =, cuts =}, one a sheet.
function nest.draw(layout, title, denominator)
  local sheets = {}
  local all = layout.sheets or layout.bars or {}
  for n, sheet in ipairs(all) do
    local picture, key = draw_sheet(sheet, n, #all, title, denominator)
    sheets[n] = {
      picture = picture,
      columns = {{title = "no.", align = "right"}, {title = "piece"},
        {title = sheet.width and "length x width" or "length"}, {title = "from the end"},
        sheet.width and {title = "from the side"} or nil},
      rows = key, cuts = nest.cuts(sheet, denominator),
    }
  end
  return sheets
end

return nest
