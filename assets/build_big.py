"""Builds transfer_box.glb: a made-up light 4x4's transfer box comes out. See README.md here.

    blender -b --factory-startup -P assets/build_big.py

Torques, masses and amounts are invented for this demo.
"""
import os
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, HERE)
sys.dont_write_bytecode = True

from big_fasteners import put_fasteners
from big_fasteners_unit import put_fasteners_of_the_unit
from big_parts import put_parts
from big_tasks import put_tasks
from scene import Map

# the author's order down, from first to last; what the list names is a node or a group
STRIP = """
chock_wheels soak_nuts battery_off raise_vehicle check_stands
skid_bolts skid_plate
prove_fill_plug drain_plug fill_plug drain_box level_plug
free_shafts mark_front_shaft mark_rear_shaft hold_shafts
front_shaft_axle_bolts front_shaft_box_joints front_shaft
shaft_loop_bolts shaft_loop rear_shaft_axle_bolts rear_shaft_box_tabs rear_shaft_box_joints rear_shaft
tail_clamp exhaust_nuts exhaust_hangers exhaust_run exhaust_gasket
heat_shield_bolts heat_shield
mark_shift_rod shift_split_pins shift_pins shift_rod
connectors harness_clips harness breather_clips breather_hose
canister_bolts canister
tail_brace_bolts tail_brace
lever_bracket_joints lever_bracket
steady_split_pin break_taper steady_castle_nut steady_stack steady_rod steady_spacer
brake_cable_clip brake_cable
neutral_again prop_box prop_tail
mount_lower_nuts crossmember_bolts crossmember gearbox_tail
adapter_bolts adapter_bolt_behind_flange adapter_bolt_in_the_gap adapter_upper_bolts
clear_drop_path transfer_box recheck_stands adapter_gasket
mount_upper_nuts mounts switch_screws neutral_switch sensor_bolt speed_sensor bracket_bolt harness_bracket
damper_bolts mass_damper
""".split()
STEP = {name: number for number, name in enumerate(STRIP)}

CAUTION = "; ".join([
    "Never under a vehicle that stands on a jack alone: axle stands on hard level ground, and the wheels "
    "that still carry chocked",
    "Look at stands and chocks again after a heavy unit is out: the weight has shifted",
    "Before anything is lowered: drop path clear, hands and feet out of the gap",
    "A hot exhaust burns: begin with it cold",
    "Eye protection under the car: rust and oil fall",
    "No heat and no flame near fuel, its vapour or rubber",
    "Nothing is ever hung by a brake hose or by its wiring",
    "Brakes, fuel system and airbag are not part of this job: leave them alone",
    "The vehicle maker's manual comes first: every figure here is invented for this demo",
])

m = Map(job="Transfer box out and back", vehicle="Model K light 4x4 (made up)", target="transfer_box", caution=CAUTION,
        source="invented for this demo")

put_parts(m, STEP)
put_fasteners(m, STEP)
put_fasteners_of_the_unit(m, STEP)
put_tasks(m, STEP)
m.write(os.path.join(HERE, "transfer_box.glb"))
