// Nodes: who stands below whom, where, and which of them the scene shows.

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "core/map/gltf.hpp"

namespace boltwalk {

namespace {

using Matrix = std::array<double, 16>;

Matrix product(const Matrix& a, const Matrix& b) {
    Matrix out{};
    for (std::size_t column = 0; column < 4; ++column) {
        for (std::size_t row = 0; row < 4; ++row) {
            double sum = 0;
            for (std::size_t k = 0; k < 4; ++k) {
                sum += a[k * 4 + row] * b[column * 4 + k];
            }
            out[column * 4 + row] = sum;
        }
    }
    return out;
}

/// glTF 2.0 section 3.5.3: translation * rotation * scale, the rotation a quaternion x, y, z, w.
Matrix from_parts(const std::array<double, 3>& t, const std::array<double, 4>& q, const std::array<double, 3>& s) {
    const auto [x, y, z, w] = q;
    return {(1 - 2 * (y * y + z * z)) * s[0],
            2 * (x * y + z * w) * s[0],
            2 * (x * z - y * w) * s[0],
            0,
            2 * (x * y - z * w) * s[1],
            (1 - 2 * (x * x + z * z)) * s[1],
            2 * (y * z + x * w) * s[1],
            0,
            2 * (x * z + y * w) * s[2],
            2 * (y * z - x * w) * s[2],
            (1 - 2 * (x * x + y * y)) * s[2],
            0,
            t[0],
            t[1],
            t[2],
            1};
}

void doubt(Gltf& gltf, std::string rule, const std::string& node, std::string key, std::string what, std::string why,
           std::string remedy) {
    gltf.map.findings.push_back({Weight::doubt,
                                 std::move(rule),
                                 {node},
                                 std::move(key),
                                 {},
                                 std::move(what),
                                 std::move(why),
                                 std::move(remedy)});
}

template <std::size_t N>
void take(const std::vector<double>& from, std::array<double, N>& to) {
    std::copy_n(from.begin(), std::min(from.size(), N), to.begin());
}

void read_transform(Gltf& gltf, const tinygltf::Node& in, const Node& node, Matrix& local) {
    if (!in.matrix.empty()) {
        take(in.matrix, local);
        if (local[3] != 0 || local[7] != 0 || local[11] != 0 || local[15] != 1) {
            doubt(gltf, "matrix", node.name, "matrix", "The last row of its matrix is not 0 0 0 1; it is taken so.",
                  "A node can be moved, turned and scaled, not drawn in perspective.",
                  "Apply the object's transform and export again.");
            local[3] = local[7] = local[11] = 0;
            local[15] = 1;
        }
        return;
    }
    std::array<double, 3> translation{0, 0, 0};
    std::array<double, 3> scale{1, 1, 1};
    std::array<double, 4> rotation{0, 0, 0, 1};
    take(in.translation, translation);
    take(in.scale, scale);
    take(in.rotation, rotation);
    const double length = std::sqrt(rotation[0] * rotation[0] + rotation[1] * rotation[1] + rotation[2] * rotation[2] +
                                    rotation[3] * rotation[3]);
    if (!(length > 1e-6 && length < 1e6)) {
        doubt(gltf, "rotation", node.name, "rotation", "Its rotation is no unit quaternion; it is taken as none.", "",
              "Apply the object's rotation and export again.");
        rotation = {0, 0, 0, 1};
    } else {
        for (double& part : rotation) {
            part /= length;
        }
    }
    local = from_parts(translation, rotation, scale);
}

/// Parents, refusing a node with two of them.
bool read_children(Gltf& gltf) {
    std::vector<Node>& nodes = gltf.map.nodes;
    for (std::size_t i = 0; i < nodes.size(); ++i) {
        for (const int index : gltf.model.nodes[i].children) {
            Node& child = nodes[static_cast<std::size_t>(index)];
            if (child.parent >= 0) {
                return gltf.refuse(
                    fmt::format("{}: its child {} \"{}\" already stands below node {} \"{}\". A node has "
                                "one parent: export the map again",
                                say_object(gltf, "node", i, gltf.objects(Array::nodes)[i]), index, child.name,
                                child.parent, nodes[static_cast<std::size_t>(child.parent)].name));
            }
            child.parent = static_cast<std::int32_t>(i);
        }
    }
    return true;
}

/// Nodes with every parent before its children; fewer than all of them when some stand below themselves.
std::vector<std::size_t> from_top(const std::vector<Node>& nodes) {
    // Children of each node as ranges of one list, filled by counting: no recursion, however deep the tree.
    std::vector<std::size_t> first(nodes.size() + 2, 0);
    for (const Node& node : nodes) {
        if (node.parent >= 0) {
            ++first[static_cast<std::size_t>(node.parent) + 2];
        }
    }
    for (std::size_t i = 2; i < first.size(); ++i) {
        first[i] += first[i - 1];
    }
    std::vector<std::size_t> below(first.size()); // two more than needed: g++ 14 takes nodes.size() for a possible -2
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < nodes.size(); ++i) {
        if (nodes[i].parent >= 0) {
            below[first[static_cast<std::size_t>(nodes[i].parent) + 1]++] = i;
        } else {
            order.push_back(i);
        }
    }
    for (std::size_t at = 0; at < order.size(); ++at) {
        for (std::size_t k = first[order[at]]; k < first[order[at] + 1]; ++k) {
            order.push_back(below[k]);
        }
    }
    return order;
}

/// Marks the nodes that the scene lists.
void read_scene(Gltf& gltf) {
    std::vector<Node>& nodes = gltf.map.nodes;
    if (gltf.model.scenes.empty()) {
        for (Node& node : nodes) {
            node.in_scene = node.parent < 0;
        }
        return;
    }
    for (const int index : gltf.model.scenes.front().nodes) {
        Node& node = nodes[static_cast<std::size_t>(index)];
        node.in_scene = true;
        if (node.parent >= 0) {
            doubt(gltf, "scene-root", node.name, "", "The scene lists a node that stands below another one.",
                  "Only nodes without a parent are a scene's own.", "Export the map again.");
        }
    }
}

} // namespace

bool read_nodes(Gltf& gltf, NodeReading& out) {
    const std::vector<TokenId>& tokens = gltf.objects(Array::nodes);
    std::vector<Node>& nodes = gltf.map.nodes;
    nodes.resize(tokens.size());
    for (std::size_t i = 0; i < tokens.size(); ++i) {
        const tinygltf::Node& in = gltf.model.nodes[i];
        Node& node = nodes[i];
        node.name = in.name.empty() ? fmt::format("node {}", i) : in.name;
        out.named.push_back(!in.name.empty());
        out.node_extras.push_back(find_member(gltf.json, tokens[i], "extras"));
        node.mesh = holds_photographs(gltf.json, out.node_extras.back()) ? -1 : in.mesh;
        read_transform(gltf, in, node, node.world);
    }
    for (const TokenId token : gltf.objects(Array::meshes)) {
        out.mesh_extras.push_back(find_member(gltf.json, token, "extras"));
    }
    if (gltf.scene >= 0) {
        const TokenId scene = gltf.objects(Array::scenes)[static_cast<std::size_t>(gltf.scene)];
        out.scene_extras = find_member(gltf.json, scene, "extras");
    }
    if (!read_children(gltf)) {
        return false;
    }
    read_scene(gltf);
    out.from_top = from_top(nodes);
    const std::vector<std::size_t>& order = out.from_top;
    if (order.size() != nodes.size()) {
        std::vector<bool> reached(nodes.size(), false);
        for (const std::size_t i : order) {
            reached[i] = true;
        }
        auto lost = static_cast<std::size_t>(std::find(reached.begin(), reached.end(), false) - reached.begin());
        for (std::size_t i = 0; i < nodes.size(); ++i) { // upwards, until it is surely one of the ring
            lost = static_cast<std::size_t>(nodes[lost].parent);
        }
        return gltf.refuse(fmt::format("{}: it stands below itself. Nodes must form a tree: export the map again",
                                       say_object(gltf, "node", lost, tokens[lost])));
    }
    for (const std::size_t i : order) {
        Node& node = nodes[i];
        if (node.parent >= 0) {
            const Node& parent = nodes[static_cast<std::size_t>(node.parent)];
            node.world = product(parent.world, node.world);
            node.in_scene = node.in_scene || parent.in_scene;
        }
        if (holds_photographs(gltf.json, out.node_extras[i])) {
            node.in_scene = false;
        }
        if (!std::all_of(node.world.begin(), node.world.end(), [](double value) { return std::isfinite(value); })) {
            return gltf.refuse(say_object(gltf, "node", i, tokens[i]) +
                               ": its place or scale is not finite. Reset the object's transform and export again");
        }
    }
    return true;
}

void doubt_absurd_places(Gltf& gltf) {
    std::size_t count = 0;
    std::string first;
    for (const Node& node : gltf.map.nodes) {
        if (!node.in_scene || node.mesh < 0) {
            continue;
        }
        const Mesh& mesh = gltf.map.meshes[static_cast<std::size_t>(node.mesh)];
        bool absurd = false;
        for (std::size_t row = 0; row < 3 && mesh.triangle_count > 0; ++row) {
            double reach = std::fabs(node.world[12 + row]);
            for (std::size_t axis = 0; axis < 3; ++axis) {
                const double far = std::max(std::fabs(static_cast<double>(mesh.low[axis])),
                                            std::fabs(static_cast<double>(mesh.high[axis])));
                reach += std::fabs(node.world[axis * 4 + row]) * far;
            }
            absurd = absurd || !(reach <= absurd_m);
        }
        if (absurd && count++ == 0) {
            first = node.name;
        }
    }
    if (count > 0) {
        doubt(gltf, "absurd-size", first, "",
              fmt::format("{} node(s) reach further than a thousand kilometres from the origin.", count),
              "Everything else shrinks to a dot beside them, and nothing can be measured.",
              "Look for a stray vertex, or for a model drawn in another unit: glTF is in metres.");
    }
}

} // namespace boltwalk
