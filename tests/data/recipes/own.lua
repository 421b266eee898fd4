calculation{
  name = "shop.skim_time", brief = "time to skim a face", formula = "t = A / r",
  parameters = {
    {name = "area", symbol = "A", unit = "ft^2", meaning = "area of the face"},
    {name = "rate", symbol = "r", unit = "ft^2/min", meaning = "area skimmed in a minute"},
  },
  outputs = {{name = "time", symbol = "t", unit = "min", meaning = "time to skim"}},
  source = "shop rule",
}
