"""The big map's tasks: what there is to do that is no fastener. Invented for this demo."""


def put_tasks(m, step):

    def task(name, title, at=None, **keys):
        m.task(name, title, step=step[at or name], **keys)

    task("chock_wheels", "Front wheels up on two ramps on hard level ground and chocked there, parking brake on",
         gate=True, sets="chocked; brake on", when="strip",
         note="Both front freewheel hubs free: the front shaft then turns although the wheels do not")
    task("soak_nuts", "Penetrating oil on the exhaust nuts, the tail clamp and the castle nut", does="soak",
         to="exhaust_nuts;tail_clamp;steady_castle_nut", needs="wheels down; chocked", from_="right",
         caution="Exhaust cold; no flame near the spray", after="chock_wheels")
    task("battery_off", "Battery: negative lead off", sets="battery off", from_="front", after="chock_wheels")
    task("raise_vehicle", "Raise the rear and set it down level on two stands, rear wheels in the air", sets="stands",
         needs="chocked", gate=True, people=2, from_="rear",
         caution="Never under a jack alone; from here on the chocks alone keep it from rolling: the brake is on the "
         "rear wheels",
         note="The box needs 600 mm below it; the front wheels stay on their ramps, chocked",
         after="chock_wheels;soak_nuts;battery_off")
    task("check_stands", "Stands and chocks checked: push the vehicle by hand, both stands square and loaded, chocks "
         "tight", gate=True, needs="stands; chocked", after="raise_vehicle")
    task("prove_fill_plug", "Prove the fill plug loose, then nip it again: no filling, no draining", does="prove",
         to="fill_plug", from_="under", after="check_stands")
    task("drain_box", "Drain the transfer box into a tray, note how much came", does="drain", to="transfer_box",
         after="drain_plug;fill_plug", from_="under", caution="Oil on the floor: wipe it up at once")
    task("free_shafts", "Gear levers in neutral, parking brake off: shafts turn by hand", sets="neutral; brake off",
         needs="stands; chocked", gate=True, from_="inside", to="front_shaft;rear_shaft", after="drain_box",
         caution="Nobody beneath while levers and brake are moved; then look at chocks and stands before anyone goes "
         "beneath",
         note="Reach in through the open door. The rear wheels are in the air, the front wheels stand chocked")
    for end in ("front", "rear"):
        task(f"mark_{end}_shaft", f"Mark the {end} shaft's flanges, each to its mate, and the sliding joint",
             does="mark", to=f"{end}_shaft", needs="neutral; brake off", from_="under",
             caution="Brake off: chocks and stands alone hold the vehicle; sleeves and hair clear of what turns",
             note="Turn the shaft by hand until the old marks or a clean place come down")
    task("hold_shafts", "Parking brake on, a gear in, transfer lever in four-wheel drive: shafts held",
         sets="in gear; brake on", from_="inside", to="front_shaft;rear_shaft", caution="Nobody beneath meanwhile",
         after="mark_front_shaft;mark_rear_shaft")
    task("mark_shift_rod", "Measure the shift rod between its pins and write it down; mark the lock nuts", does="mark",
         to="shift_rod", from_="under")
    task("break_taper", "Castle nut back by two turns, then break the ball joint's taper with a puller", gate=True,
         to="steady_rod", after="steady_split_pin", from_="under",
         caution="It lets go with a bang: eye protection, face away; no hammer on the thread, no heat near the boot")
    task("neutral_again", "Gear lever in neutral: the box must turn to come off its splines", sets="neutral",
         needs="brake on", from_="inside", caution="Nobody beneath meanwhile",
         note="Now, while nothing hangs on a jack and the box is still bolted up", after="rear_shaft")
    task("prop_box", "Transmission jack under the box, strapped, just carrying", does="prop", to="transfer_box",
         gate=True, people=2, from_="under", after="skid_plate;front_shaft;rear_shaft;neutral_again")
    task("prop_tail", "Second jack under the gearbox tail, wood between, just carrying", does="prop", to="gearbox_tail",
         gate=True, people=2, from_="under", after="skid_plate;front_shaft;rear_shaft;neutral_again")
    task("clear_drop_path", "Look round the box: nothing still on it; drop path clear, hands out of the gap", gate=True,
         from_="under", to="transfer_box", after="crossmember;neutral_again;adapter_upper_bolts;adapter_bolts")
    task("recheck_stands", "Stands and chocks again: the weight has shifted", gate=True, needs="stands", people=1,
         after="transfer_box")
    # on the way back
    task("count_dowels", "Count the dowels: two, in the tail, clean and undamaged", "transfer_box", when="refit",
         gate=True, to="gearbox_tail", from_="under")
    task("line_up_splines", "Line up the splines: turn the rear output flange by hand", "transfer_box", when="refit",
         to="transfer_box", needs="neutral", from_="under",
         refit_note="A little grease on the splines, none on the faces")
    task("fill_oil", "Fill through the fill plug, vehicle level, until it runs from the level hole", "drain_box",
         when="refit", does="fill", to="transfer_box", refit_after="drain_plug;drain_ring;transfer_box", from_="under")
    task("level_oil", "Let it stand, then top up: level with the lower edge of the level hole", "drain_box",
         when="refit", does="level", to="transfer_box", refit_after="fill_oil", gate=True, from_="under")
    task("turn_shafts", "Turn both shafts through by hand: free all the way round, nothing touches",
         "raise_vehicle", when="refit", gate=True, to="front_shaft;rear_shaft",
         needs="stands; chocked; neutral; brake off", from_="under",
         refit_after="skid_plate;front_shaft;rear_shaft;shaft_loop",
         caution="Brake off: chocks and stands alone hold the vehicle; sleeves and hair clear of what turns")
    task("battery_on", "Battery: negative lead on", "battery_off", when="refit", sets="battery on", from_="front")
    task("set_on_wheels", "Stands out, rear wheels down", "raise_vehicle", when="refit", sets="wheels down",
         needs="chocked; brake on; in gear", people=2, gate=True, from_="rear", refit_after="turn_shafts",
         caution="Nobody beneath; tools and tray out first",
         refit_note="The front wheels stay on their ramps, chocked, until the last nut is torqued")
    task("try_it", "Chocks out, front hubs back as they were, down off the ramps; then a slow trial: leaks, noises, "
         "every range of the lever", "chock_wheels", when="refit", gate=True, needs="wheels down; brake on; battery on",
         sets="unchocked", from_="inside", caution="Nobody before it and nobody behind it")
