// A small job, and entries about it.
#pragma once

#include <string>

#include "core/log/log.hpp"
#include "tests/shared/build.hpp"

namespace boltwalk::testing {

/// A lid on a body: four bolts of two lengths, a nut on a stud, a plug with its ring, a split pin.
inline Build lid_and_body() {
    Build b;
    b.map.path = "lid.glb";
    b.map.job = "Lid off and on";
    b.part("body", true);
    b.part("lid");
    b.part("seal").renew = true;
    for (int i = 1; i <= 4; ++i) {
        Fastener& bolt = b.fastener("bolt_" + std::to_string(i), {"lid", "body"});
        bolt.thread = *read_thread("M8");
        bolt.length_mm = i <= 2 ? 25 : 40;
        bolt.head = "hex";
        bolt.grade = "8.8";
        bolt.drive = *read_drive("hex 13");
        bolt.torque = *read_torque("22 N·m");
    }
    Fastener& stud = b.fastener("stud", {"lid", "body"}, FastenerKind::stud);
    stud.joint = "s";
    stud.thread = *read_thread("M10x1.25");
    Fastener& nut = b.fastener("nut", {"lid", "body"}, FastenerKind::nut);
    nut.joint = "s";
    nut.thread = *read_thread("M10x1.25");
    nut.renew = true;
    nut.drive = *read_drive("hex 16");
    nut.torque = *read_torque("40 N·m");
    b.fastener("pin", {}, FastenerKind::split_pin).secures = {b.at("nut")};
    b.f("pin").renew = true;
    Fastener& plug = b.fastener("plug", {"body"}, FastenerKind::drain_plug);
    plug.thread = *read_thread("M22x1.5");
    b.task("look_round");
    for (std::size_t i = 0; i < b.map.items.size(); ++i) {
        b.map.nodes.emplace_back();
        b.map.nodes.back().name = b.map.items[i].name;
        b.map.nodes.back().item = {static_cast<std::int32_t>(i)};
    }
    return b;
}

inline Entry did(const Build& b, Verb verb, const std::string& name) {
    Entry e;
    e.verb = verb;
    e.item = b.at(name);
    e.named = name;
    return e;
}

inline Entry found(const Build& b, Mishap mishap, const std::string& name, const std::string& words = "") {
    Entry e;
    e.deed = Deed::found;
    e.mishap = mishap;
    e.item = b.at(name);
    e.named = name;
    e.words = words;
    return e;
}

inline Entry about(Deed deed, const std::string& key, const std::string& words = "") {
    Entry e;
    e.deed = deed;
    e.about = key;
    e.words = words;
    return e;
}

} // namespace boltwalk::testing
