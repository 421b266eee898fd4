recipe{name = "plug face", part = "test plug", units = "inch", engine = 1}
job{job = "T-1", date = "2024-03-01"}
local cutter = q"1/2 in"
local stepover = input{name = "stepover", default = q"30 thou", low = q"5 thou", high = q"200 thou",
  meaning = "distance between passes"}
result{name = "scallop", value = milling.scallop_height{cutter_diameter = cutter,
  stepover = stepover}, unit = "thou", meaning = "ridge left between passes"}
check{name = "ridge", pass = milling.scallop_height{cutter_diameter = cutter,
  stepover = stepover} < q"2 thou", level = "stop", meaning = "ridges must sand out"}
check{name = "time", pass = stepover > q"10 thou", level = "warn",
  meaning = "a finer step takes long"}
