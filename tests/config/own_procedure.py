"""A kind that no procedure file of the house knows, as a practitioner would write it, and a joint of that kind."""

OWN = """
title = "Davit arm"
variants = [["left arm", "right arm"]]

[[steps]]
name = "lock-out"
phase = "prepare"
does = "hold point"
ask = "Boat hook off, winch locked?"
phrase = "locked out and tried"
released_by = "lead"
witness = true

[[steps]]
name = "left shim"
phase = "assemble"
does = "check"
only_for = "left arm"
ask = "Thick shim outside?"
answer = "thick side outside"
refused = ["thick side inside"]

[[steps]]
name = "right shim"
phase = "assemble"
does = "check"
only_for = "right arm"
ask = "Thin shim outside?"
answer = "thin side outside"

[[steps]]
name = "gap"
phase = "assemble"
does = "measure"
ask = "Gap under the foot?"
quantity = "length"
unit = "mm"
limits = [0.0, 2.0]
who = true

[[steps]]
name = "snug"
phase = "snug"
does = "snug"

[[steps]]
name = "torque"
phase = "tighten"
does = "passes"
groups = ["arm bolts"]
caution = "Stay out from under the arm."

[[steps]]
name = "knock"
phase = "seat"
does = "seat"
rounds = 3
tap = "Knock on the foot."

[[steps]]
name = "rest"
phase = "seat"
does = "wait"
lasts = "10 min"

[[steps]]
name = "swing"
phase = "leak watch"
does = "check"
ask = "Arm swings freely?"
answer = "it swings freely"
"""

JOINT = """
name = "Davit arm foot"
place = "North Sluice, boat landing"
kind = "plain pattern"
procedure = "davit-arm.toml"
variants = ["left arm"]
torque_unit = "N*m"
people = [{ role = "lead" }, { role = "technician" }]

[[hold_points]]
name = "lock-out"
phase = "prepare"
ask = "Boat hook off, winch locked?"
phrase = "locked out and tried"
released_by = "lead"

[instruction]
title = "North Sluice landing instruction NS-BL-02"
revision = "A"

[[groups]]
name = "arm bolts"
count = 4
thread = "M20"
grade = "8.8"
length = "90 mm"
condition = "dry"
wrench = "wrench 7"
target = { torque = "300 N*m", published_for = "dry" }

[tightening]
order = "cross"
passes = ["50 %", "100 %"]
circular = false
window_low = "-5 %"
window_high = "5 %"

[[wrenches]]
name = "wrench 7"
kind = "dial"
serial = "NS-TW-0007"
unit = "N*m"
lowest = "60 N*m"
highest = "600 N*m"
graduation = "2 N*m"
calibration_due = 2036-12-31
"""
