-- The reference part of the manual: every calculation, from its descriptor.

local show = require "show"

local lines = { "# fettle: the calculations", "" }
for _, description in ipairs(host.descriptions()) do
  lines[#lines + 1] = "## " .. description.name
  lines[#lines + 1] = ""
  lines[#lines + 1] = "```"
  lines[#lines + 1] = (show.entry(description):gsub("%s+$", ""))
  lines[#lines + 1] = "```"
  lines[#lines + 1] = ""
end
return table.concat(lines, "\n")
