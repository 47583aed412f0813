// All fasteners, all tools: what is asked, where, with which shapes. Poses: reach_try.cpp; judging them:
// reach_judge.cpp.
#include "core/geometry/reach.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "core/geometry/reach_ask.hpp"

namespace boltwalk {

using namespace reaching;

namespace {

/// Heads of one kind differ in the last digit from place to place; up to the next tenth of a millimetre they are alike
/// and share their tools' shapes.
double rounded_up(double metres) {
    return std::ceil(metres * 1e4 - 1e-3) / 1e4;
}

/// Shapes made once for each drive, use, torque and height of head.
class ShapeStore {
public:
    ShapeStore(const ToolBox& box, std::vector<ToolShape>& shapes) : box_(box), shapes_(shapes) {}

    void equip(Asked& asked) {
        const double torque = asked.reached.torque_nm;
        const auto list = [&](Use use) -> const Kept& { return kept(asked.drive, use, torque, asked.site); };
        Reached& reached = asked.reached;
        if (reached.use != Use::loosen) {
            const Kept& kept = list(reached.use);
            asked.shapes = kept.shapes;
            reached.missing = kept.missing;
        } else {
            // A handy tool that is long enough, then the bar, then what takes more force, the least first.
            std::vector<std::int32_t> hard;
            for (const std::int32_t shape : list(Use::turn).shapes)
                if (force(shape, torque) <= hand_force_n)
                    asked.shapes.push_back(shape);
                else if (shapes_[at(shape)].lever_m > 0)
                    hard.push_back(shape);
            const Kept& bars = list(Use::loosen);
            asked.shapes.insert(asked.shapes.end(), bars.shapes.begin(), bars.shapes.end());
            std::stable_sort(hard.begin(), hard.end(), [&](std::int32_t a, std::int32_t b) {
                return shapes_[at(a)].lever_m > shapes_[at(b)].lever_m;
            });
            asked.shapes.insert(asked.shapes.end(), hard.begin(), hard.end());
        }
        if (asked.shapes.empty())
            reached.grip = Grip::not_owned;
    }

    std::int32_t grip(DriveKind kind, double surface) {
        const auto key = std::make_pair(kind, std::lround(surface * 1e4));
        const auto found = grips_.find(key);
        if (found != grips_.end())
            return found->second;
        shapes_.push_back(straight_grip(kind, surface));
        return grips_[key] = static_cast<std::int32_t>(shapes_.size() - 1);
    }

private:
    struct Kept {
        std::vector<std::int32_t> shapes;
        std::string missing;
    };

    double force(std::int32_t shape, double torque) const {
        const double lever = shapes_[at(shape)].lever_m;
        return lever > 0 ? torque / lever : 1e300;
    }

    const Kept& kept(const Drive& drive, Use use, double torque, const Site& site) {
        const bool by_torque = use == Use::tighten;
        const auto key = std::make_tuple(drive.name, use, by_torque ? torque : 0.0, std::lround(site.head * 1e4),
                                         std::lround(site.proud * 1e4));
        const auto found = kept_.find(key);
        if (found != kept_.end())
            return found->second;
        Kept made;
        for (ToolShape& shape : shapes_for(box_, drive, use, torque, site, made.missing)) {
            made.shapes.push_back(static_cast<std::int32_t>(shapes_.size()));
            shapes_.push_back(std::move(shape));
        }
        return kept_[key] = std::move(made);
    }

    const ToolBox& box_;
    std::vector<ToolShape>& shapes_;
    std::map<std::tuple<std::string, Use, double, long, long>, Kept> kept_;
    std::map<std::pair<DriveKind, long>, std::int32_t> grips_;
};

/// How far a body's box reaches from its middle along a direction.
double surface_along(const Body& body, const glm::dvec3& way) {
    const glm::dvec3 half = 0.5 * body.bounds.size();
    return std::abs(way.x) * half.x + std::abs(way.y) * half.y + std::abs(way.z) * half.z;
}

void find_sites(const Solids& solids, std::vector<Asked>& list, const Effort& effort) {
    in_parallel(list.size(), Effort{effort.threads, {}}, [&](std::size_t i) {
        Asked& asked = list[i];
        if (asked.reached.grip != Grip::tool)
            return;
        if (!find_site(solids, asked.reached.at, gripped_mm(asked.drive), asked.far_end, asked.site)) {
            asked.reached.grip = Grip::no_shape;
            return;
        }
        asked.site.head = rounded_up(asked.site.head);
        asked.site.proud = std::max(rounded_up(asked.site.proud), asked.site.head);
        if (!takes_tool(asked.drive))
            asked.site.foot = solids.bodies[at(solids.body_of[at(asked.reached.at.index)])].bounds.centre();
    });
}

} // namespace

Reach find_reach(const Solids& solids, std::span<const LoweredCase> cases, const ToolBox& box, const Effort& effort,
                 bool torques) {
    const Map& map = *solids.map;
    Reach reach;
    reach.map = &map;
    reach.cases.assign(cases.begin(), cases.end());
    for (LoweredCase& one : reach.cases)
        one.shift.resize(solids.bodies.size(), glm::dvec3(0.0));
    reach.body_of = solids.body_of;
    for (const Body& body : solids.bodies) {
        reach.item_of.push_back(body.item);
        reach.node_of.push_back(body.node);
        reach.stays.push_back(!body.item || map.is_task(body.item) ||
                              (map.is_part(body.item) && map.part(body.item).fixed));
    }
    const Joints joints = joints_of(map);
    std::vector<Asked> list = questions(map, joints);
    if (!torques)
        std::erase_if(list, [](const Asked& asked) {
            return asked.reached.use == Use::loosen || asked.reached.use == Use::tighten;
        });
    find_sites(solids, list, effort);
    ShapeStore store(box, reach.shapes);
    for (Asked& asked : list) {
        if (asked.reached.grip != Grip::tool)
            continue;
        if (takes_tool(asked.drive)) {
            store.equip(asked);
            continue;
        }
        if (asked.drive.kind == DriveKind::pliers &&
            std::none_of(box.tools.begin(), box.tools.end(),
                         [](const Tool& t) { return t.kind == ToolKind::pliers; })) {
            asked.reached.grip = Grip::not_owned;
            asked.reached.missing = "pliers";
            continue;
        }
        const Body& body = solids.bodies[at(solids.body_of[at(asked.reached.at.index)])];
        for (const glm::dvec3& way : ways_in(map[asked.reached.at].from, asked.site.axis))
            asked.shapes.push_back(store.grip(asked.drive.kind, rounded_up(surface_along(body, way))));
    }
    std::vector<Solids> lowered;
    for (const LoweredCase& one : reach.cases)
        lowered.push_back(moved(solids, one.shift));
    // One fastener's questions after each other, for they share poses.
    std::vector<std::size_t> begins;
    for (std::size_t i = 0; i < list.size(); ++i)
        if (i == 0 || list[i].reached.item != list[i - 1].reached.item)
            begins.push_back(i);
    in_parallel(begins.size(), effort, [&](std::size_t f) {
        const std::size_t end = f + 1 < begins.size() ? begins[f + 1] : list.size();
        std::vector<const Asked*> earlier;
        for (std::size_t i = begins[f]; i < end; ++i) {
            if (list[i].reached.grip == Grip::tool)
                try_all(reach, solids, lowered, joints, list[i], earlier);
            earlier.push_back(&list[i]);
        }
    });
    reach.of_item.resize(map.items.size());
    for (Asked& asked : list) {
        reach.of_item[at(asked.reached.item.index)].push_back(static_cast<std::int32_t>(reach.list.size()));
        reach.list.push_back(std::move(asked.reached));
    }
    return reach;
}

} // namespace boltwalk
