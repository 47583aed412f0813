#include "core/geometry/reach_ask.hpp"

#include <algorithm>
#include <optional>

namespace boltwalk::reaching {

namespace {

bool is_shank(FastenerKind kind) {
    return kind == FastenerKind::bolt || kind == FastenerKind::screw;
}
/// As stated; else what this kind of thing is got hold of with, common practice. Locks and loose pieces inherit no
/// drive.
std::optional<Drive> drive_of(const Fastener& fastener) {
    if (fastener.drive)
        return fastener.drive;
    switch (fastener.kind) {
    case FastenerKind::washer:
    case FastenerKind::spacer:
    case FastenerKind::shim:
    case FastenerKind::stud:
        return Drive{DriveKind::none, 0, "none"};
    case FastenerKind::split_pin:
    case FastenerKind::lock_wire:
    case FastenerKind::tab:
        return Drive{DriveKind::pliers, 0, "pliers"};
    case FastenerKind::pin:
    case FastenerKind::connector:
    case FastenerKind::hanger:
        return Drive{DriveKind::hand, 0, "hand"};
    default:
        return std::nullopt;
    }
}

/// The end of its joint that is turned, as annotation.md says of `turn`: what it states, else the end that a torque is
/// stated for, else the nut.
ItemId turned_end(const Map& map, const std::vector<ItemId>& joint, const Fastener& fastener) {
    if (!is_nut(fastener.kind) && !is_shank(fastener.kind))
        return fastener.item;
    ItemId shank;
    ItemId nut;
    std::string turn;
    for (const ItemId id : joint) {
        const Fastener& member = map.fastener(id);
        if (turn.empty())
            turn = member.turn;
        if (is_nut(member.kind))
            nut = id;
        else if (is_shank(member.kind) && !shank)
            shank = id;
    }
    if (!shank || !nut)
        return fastener.item;
    if (turn.empty())
        turn = map.fastener(shank).torque && !map.fastener(nut).torque ? "head" : "nut";
    return (turn == "head") == is_nut(fastener.kind) ? (turn == "head" ? shank : nut) : fastener.item;
}

double highest_torque(const Fastener& fastener) {
    double highest = 0;
    if (fastener.torque)
        for (const TorqueStage& stage : fastener.torque->stages)
            if (stage.has_torque)
                highest = std::max(highest, stage.high_nm);
    return highest;
}

/// The far side of a fastener's joint, held by a tool of its own.
bool counter_of(const Map& map, const std::vector<ItemId>& joint, const Fastener& fastener, Asked& asked) {
    const Reading<Drive> drive = read_drive(fastener.counter);
    if (fastener.counter.empty() || !drive || !takes_tool(*drive))
        return false;
    asked.drive = *drive;
    asked.far_end = true;
    asked.reached.item = fastener.item;
    asked.reached.at = fastener.item;
    asked.reached.use = Use::hold;
    asked.reached.grip = Grip::tool;
    for (const ItemId id : joint) {
        const Fastener& member = map.fastener(id);
        if (id == fastener.item || is_nut(member.kind) == is_nut(fastener.kind))
            continue;
        if (is_nut(member.kind) || is_shank(member.kind)) {
            asked.reached.at = id;
            asked.far_end = false;
            break;
        }
    }
    return true;
}

} // namespace

bool takes_tool(const Drive& drive) {
    return drive.kind != DriveKind::none && drive.kind != DriveKind::hand && drive.kind != DriveKind::pliers;
}

Joints joints_of(const Map& map) {
    Joints joints;
    for (const Fastener& fastener : map.fasteners)
        if (!fastener.joint.empty())
            joints[fastener.joint].push_back(fastener.item);
    return joints;
}

std::vector<Asked> questions(const Map& map, const Joints& joints) {
    std::vector<Asked> list;
    for (const Fastener& fastener : map.fasteners) {
        const auto joint = joints.find(fastener.joint);
        const std::vector<ItemId> members = joint == joints.end() ? std::vector<ItemId>{} : joint->second;
        Asked asked;
        asked.reached.item = fastener.item;
        asked.reached.at = fastener.item;
        const std::optional<Drive> drive = drive_of(fastener);
        if (!drive)
            asked.reached.grip = Grip::not_stated;
        else if (drive->kind == DriveKind::none || turned_end(map, members, fastener) != fastener.item)
            asked.reached.grip = Grip::nothing;
        else {
            asked.drive = *drive;
            asked.reached.grip = Grip::tool;
        }
        list.push_back(asked);
        Asked counter;
        if (counter_of(map, members, fastener, counter))
            list.push_back(counter);
        const double torque = highest_torque(fastener);
        if (asked.reached.grip != Grip::tool || !takes_tool(asked.drive) || torque <= 0)
            continue;
        asked.reached.torque_nm = torque;
        for (const Use use : {Use::loosen, Use::tighten}) {
            asked.reached.use = use;
            list.push_back(asked);
        }
    }
    return list;
}

} // namespace boltwalk::reaching
