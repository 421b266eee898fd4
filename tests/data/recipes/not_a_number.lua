recipe{name = "not a number", part = "none", units = "inch", engine = 1}
result{name = "nothing", value = 0 / 0, working = "0 / 0", meaning = "no number"}
