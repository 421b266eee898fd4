-- The sheet as one HTML file: no script, nothing fetched, print style, readable on a phone.

local cautions = require "sheet/cautions"
local svg = require "drawing/svg"
local escape = svg.escape

local html = {}

local function escaped(texts)
  local list = {}
  for i, text in ipairs(texts) do
    list[i] = escape(text)
  end
  return list
end

local css = [[
:root{color-scheme:light}
*{box-sizing:border-box}
body{margin:0 auto;padding:1rem;max-width:60rem;background:#fff;color:#111;
font:1rem/1.45 system-ui,sans-serif;overflow-wrap:break-word}
h1{font-size:1.6rem;margin:.2em 0}
h2{font-size:1.2rem;margin:1.6em 0 .5em;border-bottom:2px solid #111}
table{border-collapse:collapse;width:100%;margin:.6em 0}
caption{text-align:left;font-weight:700;padding:.3em 0}
th,td{border:1px solid #777;padding:.25em .5em;text-align:left;vertical-align:top}
td.number,th.number{text-align:right}
thead th{background:#eee}
.wide{overflow-x:auto;max-width:100%;padding-right:1px}
.result,.check,.caution,.verdict{margin:.8em 0;padding:.5em .8em;border:1px solid #777}
.result{border-left:.4rem solid #1b4f72}
.result p,.caution p{margin:.2em 0}
.stated{display:flex;flex-wrap:wrap;align-items:baseline;gap:0 1rem}
.result .value{font-size:1.35rem;font-weight:700;margin:0}
.result h3,.caution h3{margin:0;font-size:1rem}
dl{margin:.4em 0;display:grid;grid-template-columns:minmax(6rem,max-content) 1fr;gap:.1em .8em;
font-size:.9rem}
dt{color:#444}
dd{margin:0;min-width:0;overflow-wrap:anywhere}
.word{font-weight:700;border:2px solid #111;padding:0 .4em;margin-right:.5em}
.caution{border:2px solid #111;background:#fff8dc}
.caution ul{margin:.3em 0;padding-left:1.2em}
.small{font-size:.85rem;color:#333}
.fill{display:inline-block;min-width:10rem;border-bottom:1px solid #111}
svg{max-width:100%;height:auto;display:block}
figure{margin:.8em 0}
.sign{display:flex;flex-wrap:wrap;gap:1.5rem}
.sign p{flex:1 1 14rem;border-bottom:1px solid #111;min-height:3rem;margin:.5em 0}
@media (max-width:40rem){dl{grid-template-columns:1fr}dt{margin-top:.3em}
th,td{padding:.2em .3em;font-size:.85rem}body{padding:.6rem}}
h3{font-size:1rem;margin:.8em 0 .3em}
@media print{@page{margin:14mm}html{font-size:9pt}body{padding:0;max-width:none;line-height:1.3}
.result,.check,.caution,.verdict{margin:.4em 0;padding:.3em .6em}h2{margin:1em 0 .3em}
.result,.check,.caution,.verdict,figure,tr{break-inside:avoid}h2,caption{break-after:avoid}
thead{display:table-header-group}.wide{overflow:visible}}
]]

function html.write(blocks)
  local out = {}
  local function line(...)
    out[#out + 1] = table.concat({...})
  end
  local title = blocks[1] and blocks[1].text or "Job sheet"
  line '<!DOCTYPE html>'
  line '<html lang="en">'
  line '<head>'
  line '<meta charset="utf-8"/>'
  line '<meta name="viewport" content="width=device-width, initial-scale=1"/>'
  line("<title>", escape(title), "</title>")
  line("<style>", css, "</style>")
  line '</head>'
  line '<body>'
  line '<main>'
  local pictures = 0
  local function caption(text)
    return text and '<caption dir="auto">' .. escape(text) .. "</caption>" or ""
  end
  local write = {}
  function write.heading(b)
    line("<h", tostring(b.level), ' dir="auto">', escape(b.text), "</h", tostring(b.level), ">")
  end
  function write.fields(b)
    line('<div class="wide"><table>', caption(b.title), "<tbody>")
    for _, row in ipairs(b.rows) do
      line('<tr><th scope="row">', escape(row[1]), '</th><td dir="auto">',
        row[2] and escape(row[2]) or '<span class="fill" title="to fill in">&#160;</span>',
        "</td></tr>")
    end
    line "</tbody></table></div>"
  end
  function write.paragraph(b)
    line('<p dir="auto">', escape(b.text), "</p>")
  end
  function write.verdict(b)
    line('<p class="verdict"><strong>', escape(b.text), "</strong></p>")
  end
  function write.steps(b)
    if b.title then
      line('<h3 dir="auto">', escape(b.title), "</h3>")
    end
    line "<ol>"
    for _, item in ipairs(b.items) do
      line('<li dir="auto">', escape(item), "</li>")
    end
    line "</ol>"
  end
  function write.caution(b)
    local c = cautions.find(b.name)
    if not b.full then
      line(b.where and '<p class="caution">' or "<p>", "<strong>Caution:</strong> ", escape(c.title),
        b.where and ": as under <em>" .. escape(b.where) .. "</em>" or "", "</p>")
      return
    end
    line('<section class="caution"><h3>Caution: ', escape(c.title), "</h3>")
    if #c.lines > 0 then
      line("<ul><li>", table.concat(escaped(c.lines), "</li>\n<li>"), "</li></ul>")
    end
    line('<p class="small">Source: ', escape(c.source), "</p></section>")
  end
  function write.result(b)
    line('<section class="result"><div class="stated"><h3 dir="auto">', escape(b.name), "</h3>")
    line('<p class="value">', escape(b.value), b.other and " <small>(" .. escape(b.other)
      .. ")</small>" or "", b.stale and ' <span class="word">STALE</span>' or "", "</p></div>")
    if b.meaning then
      line('<p dir="auto">', escape(b.meaning), "</p>")
    end
    if b.band then
      line("<p><strong>Band:</strong> ", escape(b.band), "</p>")
    end
    for _, w in ipairs(b.warnings) do
      line("<p><strong>Warning:</strong> ", escape(w), "</p>")
    end
    if #b.lines > 0 then
      line "<dl>"
      for _, l in ipairs(b.lines) do
        line("<dt>", escape(l[1]), '</dt><dd dir="auto">', escape(l[2]), "</dd>")
      end
      line "</dl>"
    end
    line "</section>"
  end
  function write.check(b)
    line('<p class="check"><span class="word">', b.word, "</span><strong>", escape(b.name),
      "</strong>", b.text ~= "" and ": " .. escape(b.text) or "",
      b.meaning and "<br/>" .. escape(b.meaning) or "",
      b.cure and "<br/>Cure: " .. escape(b.cure) or "", "</p>")
  end
  function write.table(b)
    line('<div class="wide"><table>', caption(b.title), "<thead><tr>")
    for _, c in ipairs(b.columns) do
      line('<th scope="col"', c.align == "right" and ' class="number"' or "", ">",
        escape(c.title), "</th>")
    end
    line "</tr></thead><tbody>"
    for _, row in ipairs(b.rows) do
      local cells = {}
      for i, c in ipairs(b.columns) do
        cells[i] = string.format("<td%s%s>%s</td>", c.align == "right" and ' class="number"' or "",
          ' dir="auto"', escape(row[i] or ""))
      end
      line("<tr>", table.concat(cells), "</tr>")
    end
    line "</tbody></table></div>"
    if b.note then
      line('<p class="small">', escape(b.note), "</p>")
    end
  end
  function write.picture(b)
    pictures = pictures + 1
    line("<figure>", svg.write(b.list, "picture" .. pictures), "</figure>")
  end
  function write.signoff(b)
    line '<div class="sign">'
    for _, label in ipairs(b.labels) do
      line("<p>", escape(label), ", date</p>")
    end
    line "</div>"
  end
  for _, block in ipairs(blocks) do
    write[block.kind](block)
  end
  line '</main>'
  line '</body>'
  line '</html>'
  return table.concat(out, "\n") .. "\n"
end

return html
