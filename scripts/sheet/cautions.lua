-- The cautions of each kind of work. A number is not a permission: these stand where the work does.

local cautions = {}

cautions.order = {
  "dust", "unattended", "spindle", "exotherm", "peroxide", "styrene", "isocyanate", "amine",
  "lifting", "vacuum", "oven", "hot_wire",
}

cautions.defers = "The safety data sheet, local codes and licensed practice come first: this sheet "
  .. "replaces none of them."

local common = "common practice, no source"

cautions.kinds = {
  dust = {
    title = "Dust of foam, putty and laminate",
    lines = {
      "Combustible: collect it at the source, never blow it off with compressed air.",
      "No spark and no hot work near dust or dust ducts.",
      "Respirator and eye protection.",
    },
    source = common,
  },
  unattended = {
    title = "Machine running alone",
    lines = {
      "Only with a clear dust path, hours left on the cutter and a checked collet.",
      "Smoke detection on, a plan for loss of power, a person who is called.",
      "After any stop, check zero again before cutting.",
    },
    source = common,
  },
  spindle = {
    title = "Spindle and cutter",
    lines = {
      "Clamps below the retract height; run the program in the air first.",
      "Eye protection; no gloves, sleeves or hair near a turning spindle.",
    },
    source = common,
  },
  exotherm = {
    title = "Heat of cure",
    lines = {
      "Keep to the batch mass; spread what is not used in a shallow tray.",
      "A mixed pot can smoke and burn: leave it in the open, never in a bin.",
      "Hardener in sawdust or rags may light itself.",
    },
    source = common,
  },
  peroxide = {
    title = "Organic peroxide",
    lines = {
      "Goggles. Never let it meet promoter, acetone, metal, overspray or laminate dust.",
      "Spills heat up by themselves, in seconds or after days: take them up at once.",
    },
    source = common,
  },
  styrene = {
    title = "Styrene vapour",
    lines = {
      "Ventilate and wear the respirator for organic vapour.",
      "Of 397 personal samples in lay-up shops, 59 % were above 50 ppm and 24 % above 100 ppm.",
    },
    source = "Crandall, Hartle, American Journal of Industrial Medicine 8(3), 1985",
  },
  isocyanate = {
    title = "Isocyanates",
    lines = {
      "Supplied air where it is required, skin covered, everyone else out.",
      "Sensitisation is for life, and the smell gives no warning.",
    },
    source = "OSHA, letter of interpretation of 13 June 1996",
  },
  amine = {
    title = "Amine hardener",
    lines = {
      "Gloves, sleeves and eye protection; wash skin at once, with soap and not with solvent.",
      "Sensitisation builds up with each contact.",
    },
    source = common,
  },
  lifting = {
    title = "Lifting and turning",
    lines = {
      "Above a lifting index of 1 is a warning, above 3 a stop; the load constant is 51 lb (23 kg).",
      "The equation is for one person and two hands: for a team it is only a sign.",
    },
    source = "NIOSH, Applications Manual for the Revised Lifting Equation, 94-110, revised 2021",
  },
  vacuum = {
    title = "Vacuum",
    lines = {
      "Full vacuum presses with 14.7 psi, about 2117 lb on each square foot of plan.",
      "Vent hollow plugs; foam and closed voids can be crushed. Trap before the pump.",
    },
    source = common,
  },
  oven = {
    title = "Oven and post-cure",
    lines = {
      "Stay below what plug and foam bear; keep to the ramp.",
      "Flammable vapour: ventilate before it is switched on.",
    },
    source = common,
  },
  hot_wire = {
    title = "Hot wire",
    lines = {
      "Fumes: ventilate, and cut no foam whose safety data sheet forbids it.",
      "The wire burns and may snap: gloves, eye protection, supply off when set down.",
    },
    source = common,
  },
}

-- The entry of a kind; an unknown one is named all the same.
function cautions.find(name)
  return cautions.kinds[name]
    or {title = tostring(name):gsub("_", " "), lines = {}, source = "raised by the recipe"}
end

return cautions
