-- What `fettle verify` prints of one recipe.

local verify = {}

local function line(change)
  local text = string.format("  %s %s: %s", change.kind, change.name, change.what)
  if change.what == "changed" then
    text = text .. string.format(", recorded %s, now %s", change.old, change.new)
    if change.tolerance then
      text = text .. " (tolerance " .. change.tolerance .. ")"
    end
  elseif change.old or change.new then
    text = text .. ", " .. (change.old or change.new)
  end
  return text
end

-- comparison: the table of fettle_record_verify; written: a record was written just now.
-- Returns the text and the exit status: 1 when something differs from the record.
function verify.report(comparison, written)
  local lines = {}
  local count = #comparison.changes
  if written then
    lines[1] = string.format("%s: recorded in %s", comparison.recipe, comparison.record)
  elseif count == 0 then
    lines[1] = string.format("%s: all %d recorded results hold", comparison.recipe,
      comparison.recorded)
  else
    lines[1] = string.format("%s: %d %s from %s", comparison.recipe, count,
      count == 1 and "difference" or "differences", comparison.record)
  end
  for _, change in ipairs(comparison.changes) do
    lines[#lines + 1] = line(change)
  end
  return table.concat(lines, "\n") .. "\n", (written or count == 0) and 0 or 1
end

return verify
