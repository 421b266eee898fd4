-- The answer to one question: value, working, source, warnings.

local values = require "sheet/values"

local answer = {}
-- What only some answers need is loaded when they do: most of a short answer's time is loading.

local WIDTH = 80

-- What is no answer: a number that is none, however deep. nil when all is well.
local function complaint(value, depth)
  if type(value) == "number" and (value ~= value or value == math.huge or value == -math.huge) then
    return "the answer is not a finite number: look for a division by zero, or a power or product "
      .. "that grows without end"
  elseif type(value) == "table" and depth < 8 then
    for _, item in pairs(value) do
      local wrong = complaint(item, depth + 1)
      if wrong then
        return wrong
      end
    end
  end
end

-- `result` is {values = {...}, working =}; `as_json` for one object; `again` (or nil) is the line
-- that repeats the question. Returns the whole text, with its end of line, or nil and a complaint.
function answer.answer(result, as_json, again)
  local given = result.values or {}
  local wrong = complaint(given, 0)
  if wrong then
    return nil, wrong
  end
  local working = result.working
  if as_json then
    local json = require "sheet/json"
    local plain = {}
    for i, value in ipairs(given) do
      plain[i] = json.plain(value)
    end
    return host.json_encode(host.ordered {
      {"schema", "fettle.answer.1"}, {"ok", true},
      {"value", #given == 1 and plain[1] or nil},
      {"values", #given ~= 1 and host.array(plain) or nil},
      {"working", working and json.plain(working) or nil}, {"again", again},
    }, {indent = true}) .. "\n"
  end
  local out = {}
  local function line(label, value)
    local first = label == "" and "" or label .. ": "
    local indent = string.rep(" ", #first)
    local parts = { value }
    if #first + #value > WIDTH then
      parts = require "sheet/text".wrap(value, WIDTH - #first)
    end
    for i, part in ipairs(parts) do
      out[#out + 1] = (i == 1 and first or indent) .. part
    end
  end
  for _, value in ipairs(given) do
    if type(value) == "table" then
      local keys = {}
      for key, item in pairs(value) do
        if key ~= "working" and (values.is_number(item) or type(item) == "string"
          or type(item) == "boolean") then
          keys[#keys + 1] = key
        end
      end
      table.sort(keys, function(a, b) return tostring(a) < tostring(b) end)
      for _, key in ipairs(keys) do
        out[#out + 1] = string.format("%s = %s", tostring(key), values.both(value[key], nil, 6))
      end
    else
      out[#out + 1] = "= " .. values.both(value, nil, 6)
    end
  end
  for _, l in ipairs(working and require "sheet/document".working_lines(working) or {}) do
    line(l[1], l[2])
  end
  for _, warning in ipairs(type(working) == "table" and working.warnings or {}) do
    line("warning", warning.message or tostring(warning))
  end
  if again and again ~= "" then
    out[#out + 1] = "again: " .. again -- whole, however long: it is there to be copied
  end
  return table.concat(out, "\n") .. (#out > 0 and "\n" or "")
end

return answer
