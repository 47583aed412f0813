"""The big map's fasteners, second half: lever bracket, steady rod, brace, mounts, crossmember, the unit itself.

Series and sources as in big_fasteners.py. Torques are invented for this demo.
"""
import big_unit as unit
import big_vehicle as stays
import hardware as hw
from big_fasteners import bolts, on_circle
from solids import DOWN, FRONT, REAR, RIGHT, UP, Vector

ON_WHEELS = "Torqued on its wheels: chocked, brake on, reached from the side; nobody crawls beneath"


def put_fasteners_of_the_unit(m, step):
    # ---- lever bracket: bolts from under, nuts in the cab -----------------------------------------------------------

    g = m.group("lever_bracket_bolts", "Lever bracket bolts", 2, step=step["lever_bracket_joints"], fastener="bolt",
                thread="M8", length_mm=20, head="hex_flange", drive="hex 13", grade="8.8", torque="22 N·m",
                holds="lever_bracket;floor", counter="hex 13", counter_from="inside", stack=2, turn="head", people=2,
                from_="under")
    bolts(m, unit.LEVER_BOLTS, g, "lever_bracket_bolt", hw.flange_bolt(8, 20), DOWN,
          joint=lambda n: f"lever_bracket_{n}")
    g = m.group("lever_bracket_nuts", "Lever bracket nuts, in the cab", 2, step=step["lever_bracket_joints"],
                fastener="nut", thread="M8", drive="hex 13", holds="lever_bracket;floor", stack=1, turn="head",
                people=2, from_="inside", note="On the tunnel, beneath the carpet behind the hand lever")
    bolts(m, [(a, b, 238) for a, b, _ in unit.LEVER_BOLTS], g, "lever_bracket_nut", hw.flange_nut(8), UP,
          joint=lambda n: f"lever_bracket_{n}")

    # ---- steady rod: ball joint, stud with spacer and washers ------------------------------------------------------

    eye, ball = stays.STEADY_EYE, stays.STEADY_BALL
    g = m.group("steady_castle_nuts", "Castle nut of the steady rod's ball joint", 1)
    m.fastener("steady_castle_nut", hw.castle_nut(12), (ball[0], ball[1] + 30, ball[2]), FRONT, g, 30,
               fastener="castle_nut", thread="M12x1.25", drive="hex 18", torque="69..78 N·m", slot="onward",
               holds="steady_rod;frame", step=step["steady_castle_nut"], soak_min=15, after="soak_nuts;break_taper",
               from_="under", refit_note="Lower figure first, then onward to the next slot, never back")
    g = m.group("steady_split_pins", "Split pin of the castle nut", 1)
    m.fastener("steady_split_pin", hw.split_pin(3.2, 22), (ball[0], ball[1] + unit.PIN_OF_THE_BALL, ball[2] - 9.0),
               DOWN, g, fastener="split_pin", drive="pliers", renew=True, secures="steady_castle_nut",
               holds="steady_rod", step=step["steady_split_pin"], from_="under")
    g = m.group("steady_stack", "Steady rod to tail: stud and what is on it", 5, step=step["steady_stack"],
                joint="steady_stud", holds="steady_rod;gearbox_tail", from_="under")
    face = 225
    # behind the rod's eye
    inner = dict(drive="none", holds="gearbox_tail", step=step["steady_spacer"], after="steady_rod")
    for name, kind, mesh, at, place, keys in (
        ("steady_stud", "stud", hw.stud(10, 58, 20), face, 1,
         dict(thread="M10x1.25", captive_in="gearbox_tail", frees_when="nut_off", drive="none",
              thread_in=("gearbox_tail", 0))),
        ("steady_spacer", "spacer", hw.spacer(10, 24, 10), face, 2, inner),
        ("steady_washer_1", "washer", hw.washer(10), face - 10, 3, inner),
        ("steady_washer_2", "washer", hw.washer(10), face - 42, 4, dict(drive="none")),
        ("steady_nut", "nut", hw.hex_nut(10), face - 44, 5,
         dict(thread="M10x1.25", drive="hex 16", grade="8", turn="nut", torque="45 N·m", torque_after="wheels down",
              refit_caution=ON_WHEELS, from_="right")),
    ):
        m.fastener(name, mesh, (eye[0], at, eye[2]), REAR, g, fastener=kind, stack=place, joint="steady_stud", **keys)

    # ---- brace, cable, mounts, crossmember -------------------------------------------------------------------------

    g = m.group("tail_brace_bolts", "Brace bolts", 4, step=step["tail_brace_bolts"], fastener="bolt", thread="M10x1.25",
                length_mm=25, head="hex_flange", drive="hex 16", grade="8.8", torque="45 N·m", from_="under")
    bolts(m, [(-128, f, -30) for f in (96, 58)], g, "tail_brace_bolt", hw.flange_bolt(10, 25), RIGHT,
          holds="tail_brace;gearbox_tail", thread_in=("gearbox_tail", 6))
    bolts(m, [(-128, f, -30) for f in (-172, -210)], g, "tail_brace_bolt", hw.flange_bolt(10, 25), RIGHT, 3,
          holds="tail_brace;transfer_box", thread_in=("transfer_box", 6))
    g = m.group("brake_cable_clips", "Clip of the brake cable", 1)
    m.fastener("brake_cable_clip", hw.pipe_clip(12), unit.CABLE_CLIP + RIGHT * 18, REAR, g, 180, fastener="clip",
               thread="M6", drive="hex 10", holds="brake_cable;crossmember", step=step["brake_cable_clip"],
               from_="under")
    g = m.group("mount_lower_nuts", "Mounts to crossmember, nuts inside it", 4, step=step["mount_lower_nuts"],
                fastener="nut", thread="M10", drive="hex 15", torque="42 N·m", after="skid_plate;prop_box;prop_tail",
                from_="under",
                note="Inside the crossmember: a socket on an extension through the access holes")  # ISO 4161
    n = 1
    for side, left in stays.MOUNTS.items():
        bolts(m, [(left + o, -130, -189) for o in (-36, 36)], g, "mount_lower_nut", hw.flange_nut(10), DOWN, n,
              holds=f"mount_{side};crossmember")
        n += 2
    g = m.group(
        "mount_upper_nuts", "Mounts to transfer box", 4, step=step["mount_upper_nuts"],
        note="On the bench, mounts to the replacement unit",
        refit_note="Run down on the bench, tightened last of all, on the wheels, with a long ring spanner from the side"
    )
    for side, left in stays.MOUNTS.items():
        keys = dict(joint=f"mount_{side}", holds=f"mount_{side};transfer_box")
        m.fastener(f"mount_washer_{side}", hw.washer(12), (left, -130, -131), UP, g, fastener="washer", stack=1,
                   drive="none", **keys)
        m.fastener(f"mount_upper_nut_{side}", hw.hex_nut(12), (left, -130, -128.5), UP, g, fastener="nut", stack=2,
                   thread="M12x1.25", drive="hex 18", grade="8", turn="nut", torque="60 N·m",
                   torque_after="wheels down", refit_caution=ON_WHEELS, **keys)
    for kind, length, f in (("long", 45, -62), ("short", 35, -198)):
        g = m.group(f"crossmember_{kind}_bolts", f"Crossmember bolts, {kind}", 4, step=step["crossmember_bolts"],
                    fastener="bolt", thread="M12x1.25", length_mm=length, head="hex_flange", drive="hex 18",
                    grade="8.8", torque="85 N·m", holds="crossmember;frame", after="prop_box;prop_tail",
                    note=f"{'Front' if kind == 'long' else 'Rear'} row: {length} mm; the rows differ only in length",
                    from_="under")
        bolts(m, [(left, f, -73) for left in (415, 385, -385, -415)], g, f"crossmember_{kind}",
              hw.flange_bolt(12, length), DOWN, thread_in=("frame", 12))

    # ---- transfer box to gearbox tail ------------------------------------------------------------------------------

    place = lambda angle: on_circle((0, 0), stays.BOLT_CIRCLE, [angle], 16)[0]
    shared = dict(fastener="bolt", thread="M10x1.25", head="hex_flange", drive="hex 16", grade="8.8", torque="48 N·m",
                  pattern="star", passes="50 %; 100 %", holds="transfer_box;gearbox_tail;adapter_gasket", from_="under")
    into_box = ("transfer_box", 16.8)
    g = m.group("adapter_bolts", "Transfer box to gearbox tail", 6, **shared)
    for number, angle in enumerate((22.5, 157.5, 247.5, 292.5), 1):
        m.fastener(f"adapter_bolt_{number}", hw.flange_bolt(10, 40), place(angle), FRONT, g, length_mm=40,
                   step=step["adapter_bolts"], thread_in=into_box)
    m.fastener("adapter_bolt_behind_flange", hw.flange_bolt(10, 40), place(337.5), FRONT, g, length_mm=40,
               step=step["adapter_bolt_behind_flange"], after="front_shaft", thread_in=into_box,
               note="Behind the front output flange: socket and ratchet go in between, no extension does")
    at = place(202.5)
    m.fastener(
        "adapter_bolt_in_the_gap", hw.flange_bolt(10, 40), (at[0], -16, at[2]), REAR, g, length_mm=40,
        step=step["adapter_bolt_in_the_gap"], thread_in=("gearbox_tail", 16), leaves_with="transfer_box",
        after="tail_brace", note=
        "Put in from the box's side: undone, it cannot be drawn, the case is behind its head; it comes out with the box",
        refit_note="Put it in its hole before the box goes up")
    g = m.group("adapter_upper_bolts", "Transfer box to gearbox tail, the two upper ones", 2,
                step=step["adapter_upper_bolts"], length_mm=60, after="gearbox_tail",
                note="Hidden above, beneath the tunnel: reached only with the tail 50 mm down. Longer than the others",
                **shared)
    bolts(m, [place(67.5), place(112.5)], g, "adapter_upper_bolt", hw.flange_bolt(10, 60), FRONT, thread_in=into_box)

    # holes that no fastener of the map goes through: dowels, the mounts' and the exhaust's studs
    for angle in (0, 180):
        at = on_circle((0, 0), stays.BOLT_CIRCLE, [angle], 0)[0]
        m.hole("transfer_box;adapter_gasket", Vector(at) + FRONT * 2, Vector(at) + REAR * 14, 6.4)
    for left in stays.MOUNTS.values():
        m.hole("transfer_box", (left, -130, -150), (left, -130, -120), 6.6)
        for o in (-36, 36):
            m.hole("crossmember", (left + o, -130, -182), (left + o, -130, -195), 5.6)
    for left, up in stays.EXHAUST_STUDS:
        m.hole("exhaust_run;exhaust_gasket", (left, 390, up), (left, 414, up), 5.6)

    # ---- on the bench ----------------------------------------------------------------------------------------------

    g = m.group("switch_screws", "Screws of the neutral switch", 2, step=step["switch_screws"], fastener="screw",
                thread="M6", length_mm=16, head="cap", drive="socket 5", grade="8.8", torque="9 N·m",
                holds="neutral_switch;transfer_box", after="transfer_box")  # ISO 4762
    bolts(m, [unit.SWITCH_AT + FRONT * o + unit.SWITCH_AXIS * 6 for o in unit.SWITCH_SCREWS], g, "switch_screw",
          hw.cap_screw(6, 16), unit.SWITCH_AXIS, thread_in=("transfer_box", 6))
    g = m.group("sensor_bolts", "Bolt of the speed sensor", 1)
    m.fastener("sensor_bolt", hw.flange_bolt(6, 16), unit.SENSOR_AT + FRONT * 22 + RIGHT * 5, RIGHT, g, fastener="bolt",
               thread="M6", length_mm=16, head="hex_flange", drive="hex 10", grade="8.8",
               holds="speed_sensor;transfer_box", step=step["sensor_bolt"], after="transfer_box",
               thread_in=("transfer_box", 5))
    pad = unit.HARNESS_PAD
    g = m.group("bracket_bolts", "Bolt of the harness bracket", 1)
    m.fastener("bracket_bolt", hw.flange_bolt(6, 16), (pad[0], pad[1], 141.5), UP, g, fastener="bolt", thread="M6",
               length_mm=16, head="hex_flange", drive="hex 10", grade="8.8", torque="9 N·m",
               holds="harness_bracket;transfer_box", step=step["bracket_bolt"], after="transfer_box",
               thread_in=("transfer_box", 2.5))
    g = m.group("damper_bolts", "Bolts of the mass damper", 2, step=step["damper_bolts"], fastener="bolt",
                thread="M10x1.25", length_mm=55, head="hex", drive="hex 16", grade="8.8", torque="48 N·m",
                holds="mass_damper;transfer_box", after="transfer_box")
    bolts(m, [(124, -261, -45), (156, -261, -45)], g, "damper_bolt", hw.hex_bolt(10, 55), REAR,
          thread_in=("transfer_box", 35))
