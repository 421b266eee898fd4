-- Writes a display list as SVG, to stand inside HTML.

local styles = require "drawing/styles"
local clean = require "sheet/values".clean

local svg = {}

local entities = {["&"] = "&amp;", ["<"] = "&lt;", [">"] = "&gt;", ['"'] = "&quot;", ["'"] = "&#39;"}

-- Any text as character data: markup escaped, control characters and broken UTF-8 replaced.
function svg.escape(text)
  text = clean(text)
  return (text:gsub("[&<>\"']", entities):gsub("[%z\1-\8\11\12\14-\31\127]", "\u{FFFD}"))
end
local escape = svg.escape

local function number(value)
  local text = string.format("%.3f", value):gsub("0+$", ""):gsub("%.$", "")
  return text == "-0" and "0" or text
end

local function paint(name, filled)
  local style = styles[name] or styles.thin
  local parts = {}
  parts[#parts + 1] = string.format('fill="%s"', filled and style.fill or "none")
  if style.stroke then
    parts[#parts + 1] = string.format('stroke="%s" stroke-width="%s"', style.stroke,
      number(style.width or 0.2))
  end
  if style.dash then
    parts[#parts + 1] = string.format('stroke-dasharray="%s"', style.dash)
  end
  return table.concat(parts, " ")
end

local function points(flat)
  local texts = {}
  for i = 1, #flat, 2 do
    texts[#texts + 1] = number(flat[i]) .. "," .. number(flat[i + 1])
  end
  return table.concat(texts, " ")
end

local write = {}
function write.line(i)
  return string.format('<line x1="%s" y1="%s" x2="%s" y2="%s" %s/>', number(i[2]), number(i[3]),
    number(i[4]), number(i[5]), paint(i[6]))
end
function write.polyline(i)
  return string.format('<polyline points="%s" %s/>', points(i[2]), paint(i[3]))
end
function write.area(i)
  return string.format('<polygon points="%s" %s/>', points(i[2]), paint(i[3], true))
end
function write.rectangle(i)
  return string.format('<rect x="%s" y="%s" width="%s" height="%s" %s/>', number(i[2]),
    number(i[3]), number(i[4]), number(i[5]), paint(i[6], true))
end
function write.circle(i)
  return string.format('<circle cx="%s" cy="%s" r="%s" %s/>', number(i[2]), number(i[3]),
    number(i[4]), paint(i[5], true))
end
function write.text(i)
  local turn = i.turn
    and string.format(' transform="rotate(-%d %s %s)"', i.turn, number(i[2]), number(i[3])) or ""
  return string.format('<text x="%s" y="%s" font-size="%s" text-anchor="%s"%s fill="%s">%s</text>',
    number(i[2]), number(i[3]), number(i[5]), i.anchor or "start", turn, styles.text.fill,
    escape(i[4]))
end

-- `id` makes the names of title and description unique in the file.
function svg.write(list, id)
  local out = {string.format('<svg xmlns="http://www.w3.org/2000/svg" role="img" '
    .. 'aria-labelledby="%s-title %s-desc" width="%smm" height="%smm" viewBox="0 0 %s %s" '
    .. 'font-family="sans-serif">', id, id, number(list.width), number(list.height),
    number(list.width), number(list.height)),
    string.format('<title id="%s-title">%s</title>', id, escape(list.title)),
    string.format('<desc id="%s-desc">%s</desc>', id, escape(list.description))}
  for _, item in ipairs(list.items) do
    out[#out + 1] = write[item[1]](item)
  end
  out[#out + 1] = "</svg>"
  return table.concat(out, "\n")
end

return svg
