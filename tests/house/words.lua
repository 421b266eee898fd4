-- Holds scripts/gen/words.lua, from which manual and annotations come, to what the words take, and
-- the names of the generated luacheckrc to those that a recipe can reach.
--
-- lua5.4 tests/house/words.lua PROGRAM WORDS LUACHECKRC

local program, words_path, luacheckrc = arg[1], arg[2], arg[3]
local words = assert(loadfile(words_path))()
local path = os.tmpname()
local failures = 0

local function fail(...)
  failures = failures + 1
  io.stderr:write(string.format(...), "\n")
end

-- What a recipe of this text ends with.
local function run(text)
  local file = assert(io.open(path, "wb"))
  assert(file:write('recipe {name = "names", units = "inch"}\n', text))
  file:close()
  local pipe = assert(io.popen(program .. " run " .. path .. " 2>&1"))
  local printed = pipe:read "a"
  local _, _, status = pipe:close()
  return printed, status
end

-- A field that no word has, and that is near none, makes the message list them all.
local function fields_of(call)
  local printed = run(call)
  local list = printed:match "it has ([%w_, ]+)"
  if not list then
    fail("%s gives no list of fields, but: %s", call, printed)
    return {}
  end
  local set = {}
  for name in list:gmatch "[%w_]+" do
    set[name] = true
  end
  return set
end

for _, word in ipairs(words.tables) do
  local real
  if word.name == "recipe" then
    local printed = run('recipe {name = "names", qqqqqqqqqq = 1}')
    real = printed:match "second recipe" and {name = true, part = true, units = true, engine = true, note = true}
      or fields_of 'recipe {name = "names", qqqqqqqqqq = 1}'
  else
    real = fields_of(word.name .. " {qqqqqqqqqq = 1}")
  end
  if word.name == "input" then
    for name in pairs(fields_of 'input {kind = "csv", qqqqqqqqqq = 1}') do
      real[name] = true
    end
  end
  local documented = {}
  for _, field in ipairs(word.fields) do
    documented[field.name] = true
    if not real[field.name] then
      fail("%s has no field %s", word.name, field.name)
    end
  end
  for name in pairs(real) do
    if not documented[name] then
      fail("%s: the field %s is not in %s", word.name, name, words_path)
    end
  end
end

local environment = {stds = {}}
assert(loadfile(luacheckrc, "t", environment))()
local names = environment.stds.recipe.read_globals
local printed, status = run("local _ = {" .. table.concat(names, ", ") .. "}\n")
if status ~= 0 then
  fail("a name of %s is out of a recipe's reach: %s", luacheckrc, printed)
end
os.remove(path)
print(string.format("%d words, %d names, %d failures", #words.tables, #names, failures))
os.exit(failures == 0)
