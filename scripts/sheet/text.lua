-- The sheet as plain text of a given width.

local cautions = require "sheet/cautions"
local columns_of = require "drawing/type".columns
local clean = require "sheet/values".clean

local text = {}

local function pad(value, width, right)
  local room = string.rep(" ", math.max(0, width - columns_of(value)))
  return right and room .. value or value .. room
end

local function one_line(value)
  return (clean(value):gsub("\xC2[\x80-\x9F]", " "):gsub("%c", " "))
end

-- Breaks a text at spaces; a word wider than the line is broken where it must be.
local function wrap(value, width)
  local lines, line, used = {}, "", 0
  local function put(word)
    local w = columns_of(word)
    if used > 0 and used + 1 + w > width then
      lines[#lines + 1] = line
      line, used = "", 0
    end
    while w > width and utf8.len(word) do
      local cut = utf8.offset(word, math.min(utf8.len(word), width) + 1) or #word + 1
      while columns_of(word:sub(1, cut - 1)) > width do
        cut = utf8.offset(word, -1, cut)
      end
      lines[#lines + 1] = word:sub(1, cut - 1)
      word = word:sub(cut)
      w = columns_of(word)
    end
    line = used > 0 and line .. " " .. word or word
    used = columns_of(line)
  end
  for word in one_line(value):gmatch "%S+" do
    put(word)
  end
  if used > 0 or #lines == 0 then
    lines[#lines + 1] = line
  end
  return lines
end
text.wrap = wrap

function text.write(blocks, options)
  local width = math.max(20, options and options.width or 80)
  local out = {}
  local function line(value)
    out[#out + 1] = (value:gsub("%s+$", ""))
  end
  local function gap()
    if #out > 0 and out[#out] ~= "" then
      line ""
    end
  end
  local function hanging(first, value, indent)
    local rest = string.rep(" ", indent)
    for i, part in ipairs(wrap(value, math.max(10, width - indent))) do
      line((i == 1 and pad(first, indent) or rest) .. part)
    end
  end

  local write = {}
  function write.heading(b)
    gap()
    for _, part in ipairs(wrap(b.level == 1 and b.text:upper() or b.text, width)) do
      line(part)
    end
    line(string.rep(b.level == 1 and "=" or "-", math.min(width, math.max(4, columns_of(b.text)))))
  end
  function write.fields(b)
    local widest = 0
    for _, row in ipairs(b.rows) do
      widest = math.max(widest, columns_of(row[1]))
    end
    widest = math.min(widest, width // 2)
    for _, row in ipairs(b.rows) do
      hanging(pad(row[1], widest) .. "  ", row[2] or string.rep("_", math.min(30, width - widest - 2)),
        widest + 2)
    end
  end
  function write.paragraph(b)
    gap()
    for _, part in ipairs(wrap(b.text, width)) do
      line(part)
    end
  end
  function write.verdict(b)
    gap()
    for _, part in ipairs(wrap(b.text, width)) do
      line(part)
    end
  end
  function write.steps(b)
    gap()
    if b.title then
      hanging("", b.title .. ":", 0)
    end
    local digits = #tostring(#b.items)
    for i, item in ipairs(b.items) do
      hanging(pad(tostring(i), digits, true) .. ". ", item, digits + 2)
    end
  end
  function write.caution(b)
    local c = cautions.find(b.name)
    if not b.full then
      if b.where then
        gap()
      end
      hanging("! ", b.where and string.format("CAUTION: %s: as under %s", c.title, b.where)
        or c.title, 2)
      return
    end
    gap()
    hanging("! ", "CAUTION: " .. c.title, 2)
    for _, l in ipairs(c.lines) do
      hanging("  - ", l, 4)
    end
    hanging("", "Source: " .. c.source, 2)
  end
  function write.result(b)
    gap()
    local value = b.value .. (b.other and " (" .. b.other .. ")" or "")
    hanging("", string.format("%s = %s%s", b.name, value, b.stale and "  [STALE]" or ""), 0)
    if b.meaning then
      hanging("  ", b.meaning, 2)
    end
    if b.band then
      hanging("  band: ", b.band, 10)
    end
    for _, w in ipairs(b.warnings) do
      hanging("  WARNING: ", w, 11)
    end
    for _, l in ipairs(b.lines) do
      hanging("    " .. l[1] .. ": ", l[2], math.min(19, width // 3))
    end
  end
  function write.check(b)
    gap()
    hanging("[" .. b.word .. "] ", b.name .. (b.text ~= "" and ": " .. b.text or ""), 7)
    if b.meaning then
      hanging("", b.meaning, 7)
    end
    if b.cure then
      hanging("", "Cure: " .. b.cure, 7)
    end
  end
  -- Columns share the width; the widest give way first, and their cells wrap.
  function write.table(b)
    gap()
    if b.title then
      hanging("", b.title, 0)
    end
    local widths, sum = {}, 0
    for i, c in ipairs(b.columns) do
      widths[i] = math.max(1, columns_of(one_line(c.title)))
      for _, row in ipairs(b.rows) do
        widths[i] = math.max(widths[i], columns_of(one_line(row[i] or "")))
      end
      sum = sum + widths[i]
    end
    local room = width - 2 * (#widths - 1)
    while sum > room do
      local widest = 1
      for i = 2, #widths do
        widest = widths[i] > widths[widest] and i or widest
      end
      if widths[widest] <= 4 then
        break
      end
      widths[widest] = widths[widest] - 1
      sum = sum - 1
    end
    if sum > room then -- too many columns to stand abreast: each row as a list
      for n, cells in ipairs(b.rows) do
        if n > 1 then
          line ""
        end
        for i, c in ipairs(b.columns) do
          hanging("", c.title .. ": " .. (cells[i] or ""), 2)
        end
      end
      if b.note then
        hanging("", b.note, 0)
      end
      return
    end
    local function row(cells)
      local wrapped, most = {}, 1
      for i = 1, #widths do
        wrapped[i] = wrap(cells[i] or "", widths[i])
        most = math.max(most, #wrapped[i])
      end
      for n = 1, most do
        local parts = {}
        for i = 1, #widths do
          parts[i] = pad(wrapped[i][n] or "", widths[i], b.columns[i].align == "right")
        end
        line(table.concat(parts, "  "))
      end
    end
    local titles, rules = {}, {}
    for i, c in ipairs(b.columns) do
      titles[i], rules[i] = c.title, string.rep("-", widths[i])
    end
    row(titles)
    line(table.concat(rules, "  "))
    for _, cells in ipairs(b.rows) do
      row(cells)
    end
    if #b.rows == 0 then
      line "(none)"
    end
    if b.note then
      hanging("", b.note, 0)
    end
  end
  function write.picture()
  end
  function write.signoff(b)
    for _, label in ipairs(b.labels) do
      line ""
      hanging(pad(label, 10) .. "  ", string.rep("_", 28) .. "  Date " .. string.rep("_", 16), 12)
    end
  end
  for _, block in ipairs(blocks) do
    write[block.kind](block)
  end
  return table.concat(out, "\n") .. "\n"
end

return text
