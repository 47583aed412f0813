// What a person has confirmed, as keys of the annotation.
#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include <fmt/format.h>

#include "core/map/map.hpp"
#include "core/propose/propose.hpp"

namespace boltwalk {

namespace {

/// From shank to head in the node's own axes: "+y" where it is one of them, else three numbers.
std::string axis_text(const Node& node, const glm::dvec3& world) {
    glm::dmat3 m;
    for (int c = 0; c < 3; ++c)
        for (int r = 0; r < 3; ++r)
            m[c][r] = node.world[4 * static_cast<std::size_t>(c) + static_cast<std::size_t>(r)];
    glm::dvec3 own = glm::inverse(m) * world;
    own /= glm::length(own);
    const char* names = "xyz";
    for (int k = 0; k < 3; ++k)
        if (std::abs(own[k]) > 1 - 1e-6)
            return fmt::format("{}{}", own[k] > 0 ? '+' : '-', names[k]);
    return fmt::format("{:.6f} {:.6f} {:.6f}", own.x, own.y, own.z);
}

} // namespace

NodeNames::NodeNames(const Map& map) : map_(map) {
    for (const Node& node : map.nodes)
        ++count_[node.name];
}

std::string NodeNames::of(std::int32_t node, const std::string& base, std::vector<Change>& changes) {
    const auto known = given_.find(node);
    if (known != given_.end())
        return known->second;
    std::string name = map_.nodes[at(node)].name;
    if (count_[name] > 1 || name == fmt::format("node {}", node) || name.find(';') != std::string::npos) {
        name = base;
        for (int n = 2; count_[name] > 0; ++n)
            name = fmt::format("{}_{}", base, n);
        ++count_[name];
        changes.push_back({node, "name", json_quoted(name), true});
    }
    given_[node] = name;
    return name;
}

namespace {

/// The fastener that this node is already; null: none.
const Fastener* taken_before(const Map& map, std::int32_t node) {
    const ItemId item = map.nodes[at(node)].item;
    return item && map.is_fastener(item) && map[item].node == node ? &map.fastener(item) : nullptr;
}

/// Names of joints: of what was taken before, and made for what is taken now.
class JointNames {
public:
    explicit JointNames(const Map& map) {
        for (const Fastener& fastener : map.fasteners)
            used_.insert(fastener.joint);
    }
    /// The joint that is named after this proposal; another's name is never given again.
    std::string after(const Proposal& p) {
        std::string& name = made_[p.node];
        if (name.empty()) {
            name = fmt::format("joint {}", p.id);
            for (int n = 2; !used_.insert(name).second; ++n)
                name = fmt::format("joint {} {}", p.id, n);
        }
        return name;
    }

private:
    std::set<std::string> used_;
    std::map<std::int32_t, std::string> made_;
};

/// What can be held of what a proposal's shank passes: nodes that nobody spoke for, and the nodes of parts, for a part
/// may be drawn as many.
std::vector<std::int32_t> holdable(const Map& map, const Proposal& p) {
    std::vector<std::int32_t> nodes;
    for (std::int32_t node : p.holds) {
        const ItemId item = map.nodes[at(node)].item;
        if (item && !map.is_part(item))
            continue;
        if (item)
            node = map[item].node;
        if (std::find(nodes.begin(), nodes.end(), node) == nodes.end())
            nodes.push_back(node);
    }
    return nodes;
}

} // namespace

std::vector<Change> changes_of(const Map& map, const Proposals& proposals, std::span<const std::size_t> taken,
                               const std::string& thread) {
    std::vector<Change> changes;
    NodeNames names(map);
    JointNames joints(map);
    std::set<std::int32_t> made_part;
    std::set<std::int32_t> joined; // fasteners taken before that join a joint only now
    std::set<std::size_t> chosen(taken.begin(), taken.end());
    for (const std::size_t i : chosen) {
        const Proposal& p = proposals.list[i];
        const auto text = [&](const char* key, const std::string& value) {
            changes.push_back({p.node, key, json_quoted(value)});
        };
        const std::string kind(name_of(p.kind));
        names.of(p.node, fmt::format("{}_{}_{}", kind, p.alike + 1, p.number), changes);
        text("fastener", kind);
        std::string holds;
        for (const std::int32_t node : holdable(map, p)) {
            const std::string name = names.of(node, fmt::format("part_{}", node), changes);
            holds += (holds.empty() ? "" : "; ") + name;
            if (!map.nodes[at(node)].item && made_part.insert(node).second)
                changes.push_back({node, "part", "true"});
        }
        if (!holds.empty())
            text("holds", holds);
        const bool turned = p.flats_mm > 0;
        if (p.drive)
            text("drive", p.drive->name);
        else if (p.kind == FastenerKind::washer || p.kind == FastenerKind::spacer || p.kind == FastenerKind::stud)
            text("drive", "none");
        if (!p.head.empty())
            text("head", p.head);
        const bool has_length = turned && p.shank_mm > 0 && !is_nut(p.kind);
        if (has_length || p.kind == FastenerKind::stud)
            changes.push_back({p.node, "length_mm", print_number(p.length_mm, 1)});
        if (!thread.empty() && turned)
            text("thread", thread);
        if (const std::string axis = axis_text(map.nodes[at(p.node)], p.axis); axis != "+y")
            text("axis", axis);
        // A bolt, its rings and its nut are one joint, named after its first in the file, whether all are taken at once
        // or one kind after the other.
        std::size_t first = i;
        std::string joint;
        bool shared = false;
        for (const std::int32_t other : p.stacked) {
            const Fastener* before = taken_before(map, proposals.list[at(other)].node);
            if (before == nullptr && !chosen.contains(at(other)))
                continue;
            shared = true;
            first = std::min(first, at(other));
            if (before != nullptr && joint.empty())
                joint = before->joint;
        }
        if (!shared)
            continue;
        if (joint.empty())
            joint = joints.after(proposals.list[first]);
        text("joint", joint);
        for (const std::int32_t other : p.stacked) {
            const std::int32_t node = proposals.list[at(other)].node;
            const Fastener* before = taken_before(map, node);
            if (before != nullptr && before->joint.empty() && joined.insert(node).second)
                changes.push_back({node, "joint", json_quoted(joint)});
        }
    }
    return changes;
}

} // namespace boltwalk
