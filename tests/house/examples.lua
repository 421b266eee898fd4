-- Runs the examples of a document and compares what they print with what it shows.
--
-- lua5.4 tests/house/examples.lua PROGRAM-FOLDER DOCUMENT... [--write]
--
-- ```console blocks: lines "$ command" run by bash in the project's folder with PROGRAM-FOLDER first
-- on the path; the lines up to the next "$" are what it must print, byte for byte, errors included.
-- ```lua blocks are recipes (one that does not start with recipe{} gets one) that must run with no
-- check failing; the ```yaml block of any document given is their shop.yaml. With --write, console
-- blocks get what the commands print now, for a reader to look at.

local write, folder, documents = false, nil, {}
for _, word in ipairs(arg) do
  if word == "--write" then
    write = true
  elseif not folder then
    folder = word
  else
    documents[#documents + 1] = word
  end
end

local function read(path)
  local file = assert(io.open(path, "rb"))
  local text = file:read "a"
  file:close()
  return text
end

local function save(path, text)
  local file = assert(io.open(path, "wb"))
  assert(file:write(text))
  file:close()
end

local scratch = os.tmpname()
os.remove(scratch)
assert(os.execute("mkdir " .. scratch))

-- What bash prints for `script`, and its exit status. The script goes through a file, so that no
-- quoting is needed.
local function run(script)
  save(scratch .. "/command.sh", script)
  local pipe = assert(io.popen(string.format(
    "PATH=%s:$PATH bash %s/command.sh 2>&1 </dev/null", folder, scratch)))
  local text = pipe:read "a"
  local _, _, status = pipe:close()
  return text, status
end

local failures, examples = 0, 0
local function failed(path, line, message)
  failures = failures + 1
  io.stderr:write(string.format("%s:%d: %s\n", path, line, message))
end

local function console(path, first, lines)
  local out, at = {}, 1
  while at <= #lines do
    local command = lines[at]:match "^%$ (.*)$"
    if not command then
      failed(path, first + at, "a console block starts with '$ command'")
      return lines
    end
    local shown, line = {}, first + at
    out[#out + 1] = lines[at]
    at = at + 1
    while lines[at] and lines[at]:match "^> " do
      command = command .. "\n" .. lines[at]:sub(3)
      out[#out + 1] = lines[at]
      at = at + 1
    end
    while lines[at] and not lines[at]:match "^%$ " do
      shown[#shown + 1] = lines[at]
      at = at + 1
    end
    examples = examples + 1
    local printed = run(command):gsub("\n$", "")
    local wanted = table.concat(shown, "\n")
    if printed ~= wanted and not write then
      failed(path, line, string.format("$ %s\n--- shown\n%s\n--- printed\n%s\n---", command, wanted, printed))
    end
    if printed ~= "" then
      out[#out + 1] = printed
    end
  end
  return out
end

local function recipe(path, first, lines)
  local text = table.concat(lines, "\n") .. "\n"
  if not text:match "^%s*recipe[ {]" then
    -- On the first line, so that messages keep their lines.
    text = 'recipe {name = "example", units = "inch"} ' .. text
  end
  save(scratch .. "/example.lua", text)
  examples = examples + 1
  local printed, status = run("fettle run " .. scratch .. "/example.lua")
  if status ~= 0 then
    failed(path, first, string.format("the example ends with status %d:\n%s", status, printed))
  end
end

-- A document as a list of lines, and of blocks {language, first, last}: the lines between fences.
local function blocks_of(text)
  local lines, blocks, open = {}, {}, nil
  for line in text:gmatch "([^\n]*)\n" do
    lines[#lines + 1] = line
    local fence = line:match "^```(%a*)$"
    if fence and open then
      open.last = #lines - 1
      blocks[#blocks + 1], open = open, nil
    elseif fence then
      open = {language = fence, first = #lines + 1}
    end
  end
  return lines, blocks
end

local texts = {}
for i, path in ipairs(documents) do
  texts[i] = read(path)
  local shop = texts[i]:match "\n```yaml\n(.-)```\n"
  if shop then
    save(scratch .. "/shop.yaml", shop)
  end
end
for i, path in ipairs(documents) do
  local lines, blocks = blocks_of(texts[i])
  local out, copied = {}, 0
  for _, block in ipairs(blocks) do
    local own = table.move(lines, block.first, block.last, 1, {})
    table.move(lines, copied + 1, block.first - 1, #out + 1, out)
    copied = block.last
    if block.language == "console" then
      own = console(path, block.first - 1, own)
    elseif block.language == "lua" then
      recipe(path, block.first, own)
    end
    table.move(own, 1, #own, #out + 1, out)
  end
  table.move(lines, copied + 1, #lines, #out + 1, out)
  if write then
    save(path, table.concat(out, "\n") .. "\n")
  end
end
os.execute("rm -rf " .. scratch)
print(string.format("%d examples, %d failed", examples, failures))
if failures > 0 then
  print(string.format("where what is printed now is right: lua5.4 tests/house/examples.lua %s %s --write",
    folder, table.concat(documents, " ")))
end
os.exit(failures == 0 and examples > 0)
