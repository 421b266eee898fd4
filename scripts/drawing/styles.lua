-- Named styles of the display list, in one place for every writer. Colours of the series keep
-- apart for colour-blind readers (Okabe, Ito, Color Universal Design, 2008) and differ in dash and
-- marker too, for grey printers. Widths and dashes in mm of paper.

local styles = {
  outline = {stroke = "#111111", width = 0.5},
  thin = {stroke = "#444444", width = 0.2},
  grid = {stroke = "#cccccc", width = 0.15},
  limit = {stroke = "#111111", width = 0.4, dash = "3 1.5"},
  dimension = {stroke = "#444444", width = 0.2},
  piece = {stroke = "#111111", width = 0.3, fill = "#e8eef5"},
  offcut = {stroke = "#666666", width = 0.15, fill = "#ffffff", dash = "1 1"},
  hatch = {stroke = "#999999", width = 0.15},
  sheet = {stroke = "#111111", width = 0.6, fill = "#ffffff"},
  cut = {stroke = "#a03000", width = 0.25, dash = "2 1"},
  mark = {width = 0, fill = "#ffffff"},
  area = {stroke = "#111111", width = 0.3, fill = "#eef2f6"},
  circle = {stroke = "#111111", width = 0.3, fill = "none"},
  bar = {stroke = "#111111", width = 0.3, fill = "#111111"},
  frame = {stroke = "#111111", width = 0.3, fill = "none"},
  text = {fill = "#111111"},
}

styles.series = {
  {stroke = "#0072b2", width = 0.5, mark = "circle"},
  {stroke = "#d55e00", width = 0.5, dash = "3 1", mark = "square"},
  {stroke = "#009e73", width = 0.5, dash = "1 1", mark = "triangle"},
  {stroke = "#8a4a78", width = 0.5, dash = "4 1 1 1", mark = "diamond"},
  {stroke = "#111111", width = 0.5, dash = "6 2", mark = "cross"},
  {stroke = "#8a6d00", width = 0.5, dash = "2 2", mark = "circle"},
}
for i, series in ipairs(styles.series) do
  styles["series " .. i] = series
  styles["mark " .. i] = {stroke = series.stroke, width = 0.3, fill = series.stroke}
end

return styles
