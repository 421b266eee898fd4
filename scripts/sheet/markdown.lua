-- The sheet as Markdown with tables.

local cautions = require "sheet/cautions"
local clean = require "sheet/values".clean

local markdown = {}

-- Whatever a name holds is text: no markup of its own, no line break, no cell border.
local function escape(value)
  return (clean(value):gsub("%c", " "):gsub("[\\`*_%[%]<>|#~]", "\\%0"):gsub("&", "&amp;"))
end

function markdown.write(blocks)
  local out = {}
  local function line(value)
    out[#out + 1] = value
  end
  local function grid(titles, aligns, rows)
    local cells = {}
    for i, title in ipairs(titles) do
      cells[i] = escape(title)
    end
    line("| " .. table.concat(cells, " | ") .. " |")
    for i = 1, #titles do
      cells[i] = aligns[i] == "right" and "---:" or "---"
    end
    line("| " .. table.concat(cells, " | ") .. " |")
    for _, row in ipairs(rows) do
      for i = 1, #titles do
        cells[i] = escape(row[i] or "")
      end
      line("| " .. table.concat(cells, " | ") .. " |")
    end
    line ""
  end
  local write = {}
  function write.heading(b)
    line(string.rep("#", b.level) .. " " .. escape(b.text))
    line ""
  end
  function write.fields(b)
    local rows = {}
    for i, row in ipairs(b.rows) do
      rows[i] = {row[1], row[2] or string.rep("_", 20)}
    end
    grid({b.title or "item", "value"}, {}, rows)
  end
  function write.paragraph(b)
    line(escape(b.text))
    line ""
  end
  function write.verdict(b)
    line("**" .. escape(b.text) .. "**")
    line ""
  end
  function write.steps(b)
    if b.title then
      line("**" .. escape(b.title) .. "**")
      line ""
    end
    for i, item in ipairs(b.items) do
      line(i .. ". " .. escape(item))
    end
    line ""
  end
  function write.caution(b)
    local c = cautions.find(b.name)
    if not b.full then
      line("- **Caution:** " .. escape(c.title)
        .. (b.where and ": as under " .. escape(b.where) or ""))
      return
    end
    line("> **Caution: " .. escape(c.title) .. "**")
    line ">"
    for _, l in ipairs(c.lines) do
      line("> - " .. escape(l))
    end
    line ">"
    line("> Source: " .. escape(c.source))
    line ""
  end
  function write.result(b)
    line(string.format("**%s = %s**%s%s", escape(b.name), escape(b.value),
      b.other and " (" .. escape(b.other) .. ")" or "", b.stale and " **STALE**" or ""))
    line ""
    if b.meaning then
      line("- " .. escape(b.meaning))
    end
    if b.band then
      line("- band: " .. escape(b.band))
    end
    for _, w in ipairs(b.warnings) do
      line("- **Warning:** " .. escape(w))
    end
    for _, l in ipairs(b.lines) do
      line("- " .. escape(l[1]) .. ": " .. escape(l[2]))
    end
    line ""
  end
  function write.check(b)
    line(string.format("- **%s** %s%s%s%s", b.word, escape(b.name),
      b.text ~= "" and ": " .. escape(b.text) or "", b.meaning and ". " .. escape(b.meaning) or "",
      b.cure and ". Cure: " .. escape(b.cure) or ""))
    line ""
  end
  function write.table(b)
    if b.title then
      line("**" .. escape(b.title) .. "**")
      line ""
    end
    local titles, aligns = {}, {}
    for i, c in ipairs(b.columns) do
      titles[i], aligns[i] = c.title, c.align
    end
    if #titles > 0 then
      grid(titles, aligns, b.rows)
    end
    if b.note then
      line(escape(b.note))
      line ""
    end
  end
  function write.picture()
  end
  function write.signoff(b)
    for _, label in ipairs(b.labels) do
      line(escape(label) .. " " .. string.rep("\\_", 24) .. " date " .. string.rep("\\_", 12))
      line ""
    end
  end
  local before
  for _, block in ipairs(blocks) do
    if before == "caution" and block.kind ~= "caution" and out[#out] ~= "" then
      line ""
    end
    write[block.kind](block)
    before = block.kind
  end
  return table.concat(out, "\n")
end

return markdown
