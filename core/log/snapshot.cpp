// A map's facts as the log keeps them, and how they are found again in a map that was changed.
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <map>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "core/log/log.hpp"

namespace boltwalk {

namespace {

using Json = nlohmann::ordered_json;

// ---- shapes

/// Cells a metre: a hundredth of a millimetre is finer than any difference that matters to a fastener, and coarser than
/// what a modelling tool's own arithmetic adds on a second export.
constexpr double cells_per_metre = 100000;
/// Round figures lie inside the cells, not on their edges, where the last bit would decide.
constexpr double grid_offset = 0.37734519;
/// A scale so near to 1 is 1: a rotation's columns are never exactly of unit length.
constexpr double scale_tolerance = 1e-6;

struct Point {
    std::int64_t x = 0, y = 0, z = 0;
    auto operator<=>(const Point&) const = default;
};

std::int64_t cell(double metres) {
    constexpr double limit = 9007199254740992.0; // whole doubles end here
    return static_cast<std::int64_t>(std::floor(std::clamp(metres * cells_per_metre + grid_offset, -limit, limit)));
}

std::uint64_t mixed(std::uint64_t h, std::int64_t value) {
    // splitmix64's finisher over the sum: well spread, and the same on every machine.
    std::uint64_t z = h + static_cast<std::uint64_t>(value) + 0x9e3779b97f4a7c15U;
    z = (z ^ (z >> 30U)) * 0xbf58476d1ce4e5b9U;
    z = (z ^ (z >> 27U)) * 0x94d049bb133111ebU;
    return z ^ (z >> 31U);
}

std::uint64_t hash_of(std::array<Point, 3> corners, std::uint64_t seed) {
    std::rotate(corners.begin(), std::min_element(corners.begin(), corners.end()), corners.end());
    std::uint64_t h = seed;
    for (const Point& p : corners)
        for (const std::int64_t value : {p.x, p.y, p.z})
            h = mixed(h, value);
    return h;
}

using Matrix = std::array<double, 16>; // column by column

struct Axes {
    Matrix inverse{};
    std::array<double, 3> scale{1, 1, 1};
    bool good = false;
};

/// The way from the world into an item's own axes, at its true size: a bolt of twice the scale is another bolt.
Axes axes_of(const Matrix& m) {
    Axes axes;
    const auto at = [&](std::size_t column, std::size_t row) { return m[column * 4 + row]; };
    const auto cofactor = [&](std::size_t c, std::size_t r) {
        const std::size_t c1 = (c + 1) % 3, c2 = (c + 2) % 3, r1 = (r + 1) % 3, r2 = (r + 2) % 3;
        return at(c1, r1) * at(c2, r2) - at(c2, r1) * at(c1, r2);
    };
    const double determinant = at(0, 0) * cofactor(0, 0) + at(1, 0) * cofactor(1, 0) + at(2, 0) * cofactor(2, 0);
    if (determinant == 0 || !std::isfinite(determinant))
        return axes;
    for (std::size_t c = 0; c < 3; ++c) {
        for (std::size_t r = 0; r < 3; ++r)
            axes.inverse[r * 4 + c] = cofactor(c, r) / determinant;
        const double squared = at(c, 0) * at(c, 0) + at(c, 1) * at(c, 1) + at(c, 2) * at(c, 2);
        axes.scale[c] = std::fabs(squared - 1) < scale_tolerance ? 1 : std::sqrt(squared);
    }
    if (determinant < 0)
        axes.scale[0] = -axes.scale[0]; // a mirrored bracket is another bracket
    for (std::size_t r = 0; r < 3; ++r)
        axes.inverse[12 + r] =
            -(axes.inverse[r] * at(3, 0) + axes.inverse[4 + r] * at(3, 1) + axes.inverse[8 + r] * at(3, 2));
    axes.good = true;
    return axes;
}

Matrix product(const Matrix& a, const Matrix& b) {
    Matrix out{};
    for (std::size_t c = 0; c < 4; ++c)
        for (std::size_t r = 0; r < 3; ++r)
            out[c * 4 + r] =
                a[r] * b[c * 4] + a[4 + r] * b[c * 4 + 1] + a[8 + r] * b[c * 4 + 2] + (c == 3 ? a[12 + r] : 0);
    return out;
}

struct Fingerprint {
    std::uint64_t a = 0, b = 0, triangles = 0;

    void add(const Mesh& mesh, const Matrix& place, const std::array<double, 3>& scale, bool same) {
        const auto point = [&](const Primitive& primitive, std::size_t i) {
            const Vec3 v = primitive.positions[primitive.index(i)];
            const double p[3] = {static_cast<double>(v.x), static_cast<double>(v.y), static_cast<double>(v.z)};
            double own[3];
            for (std::size_t r = 0; r < 3; ++r)
                own[r] = scale[r] *
                         (same ? p[r] : place[r] * p[0] + place[4 + r] * p[1] + place[8 + r] * p[2] + place[12 + r]);
            return Point{cell(own[0]), cell(own[1]), cell(own[2])};
        };
        for (const Primitive& primitive : mesh.primitives)
            for (std::size_t i = 0; i + 2 < primitive.index_count; i += 3) {
                const std::array<Point, 3> corners{point(primitive, i), point(primitive, i + 1),
                                                   point(primitive, i + 2)};
                if (corners[0] == corners[1] || corners[1] == corners[2] || corners[2] == corners[0])
                    continue; // too thin to be seen at this size
                a += hash_of(corners, 1);
                b += hash_of(corners, 2);
                ++triangles;
            }
    }
};

std::vector<std::string> shapes_of(const Map& map) {
    std::vector<Fingerprint> prints(map.items.size());
    std::vector<Axes> axes(map.items.size());
    for (std::size_t i = 0; i < map.items.size(); ++i)
        if (map.items[i].node >= 0 && static_cast<std::size_t>(map.items[i].node) < map.nodes.size())
            axes[i] = axes_of(map.nodes[static_cast<std::size_t>(map.items[i].node)].world);
    for (std::size_t n = 0; n < map.nodes.size(); ++n) {
        const Node& node = map.nodes[n];
        if (!node.item || node.mesh < 0 || !node.in_scene)
            continue;
        const auto i = static_cast<std::size_t>(node.item.index);
        if (!axes[i].good)
            continue;
        const bool same = map.items[i].node == static_cast<std::int32_t>(n);
        const Matrix place = same ? Matrix{} : product(axes[i].inverse, node.world);
        prints[i].add(map.meshes[static_cast<std::size_t>(node.mesh)], place, axes[i].scale, same);
    }
    std::vector<std::string> shapes;
    shapes.reserve(prints.size());
    for (const Fingerprint& print : prints)
        shapes.push_back(print.triangles == 0 ? "" : fmt::format("{:016x}{:016x}", print.a, print.b));
    return shapes;
}

// ---- facts

void put(Json& json, const char* key, const std::string& text) {
    if (!text.empty())
        json[key] = text;
}
void put(Json& json, const char* key, bool yes) {
    if (yes)
        json[key] = true;
}
void put(Json& json, const char* key, const std::optional<double>& number) {
    if (number)
        json[key] = print_number(*number, 6);
}
void put(Json& json, const char* key, const Map& map, const std::vector<ItemId>& items) {
    for (const ItemId id : items)
        json[key].push_back(map[id].name);
}
void put(Json& json, const char* key, const Map& map, ItemId id) {
    if (id)
        json[key] = map[id].name;
}

void put_fastener(Json& json, const Map& map, const Fastener& f) {
    json["fastener"] = std::string(name_of(f.kind));
    put(json, "holds", map, f.holds);
    put(json, "joint", f.joint);
    if (f.stack)
        json["stack"] = *f.stack;
    put(json, "turn", f.turn);
    put(json, "secures", map, f.secures);
    put(json, "thread", f.thread ? f.thread->name : std::string());
    put(json, "length_mm", f.length_mm);
    put(json, "head", f.head);
    put(json, "drive", f.drive ? f.drive->name : std::string());
    put(json, "grade", f.grade);
    put(json, "left_hand", f.hand == Hand::left);
    put(json, "counter", f.counter);
    put(json, "torque", f.torque ? f.torque->text : std::string());
    put(json, "torque_after", map, f.torque_after);
    put(json, "torque_after_vehicle", print_vehicle(f.torque_after_vehicle));
    put(json, "pattern", f.pattern);
    put(json, "passes", f.passes);
    put(json, "slot", f.slot);
    put(json, "lock", f.lock);
    put(json, "condition", f.condition);
    put(json, "renew", f.renew);
    put(json, "soak_min", f.soak_min);
    if (f.frees_when != FreesWhen::out)
        json["frees_when"] = f.frees_when == FreesWhen::slack ? "slack" : "nut_off";
    put(json, "leaves_with", map, f.leaves_with);
    put(json, "captive_in", map, f.captive_in);
    put(json, "own_place", f.own_place);
}

void put_part(Json& json, const Part& p) {
    put(json, "fixed", p.fixed);
    put(json, "renew", p.renew);
    put(json, "transfer", p.transfer);
    put(json, "road_wheel", p.road_wheel);
    put(json, "flexible", p.flexible);
    put(json, "adjust", p.adjust);
    put(json, "mass_kg", p.mass_kg);
    put(json, "lower_mm", p.lower_mm);
    put(json, "aside", p.aside);
    put(json, "support", p.support);
    put(json, "loaded", p.loaded);
    put(json, "fluid", p.fluid);
    put(json, "amount_l", p.amount_l);
}

std::string facts_of(const Map& map, const Item& item) {
    Json json = Json::object();
    put(json, "title", item.title);
    if (item.step)
        json["step"] = *item.step;
    put(json, "after", map, item.after);
    put(json, "refit_after", map, item.refit_after);
    put(json, "refit_free", map, item.refit_free);
    put(json, "needs", print_vehicle(item.needs));
    switch (item.kind) {
    case ItemKind::fastener:
        put_fastener(json, map, map.fasteners[static_cast<std::size_t>(item.detail)]);
        break;
    case ItemKind::part:
        put_part(json, map.parts[static_cast<std::size_t>(item.detail)]);
        break;
    case ItemKind::task: {
        const Task& task = map.tasks[static_cast<std::size_t>(item.detail)];
        put(json, "gate", task.gate);
        json["when"] = static_cast<int>(task.when);
        json["does"] = static_cast<int>(task.does);
        put(json, "to", map, task.to);
        put(json, "sets", print_vehicle(task.sets));
        break;
    }
    }
    return json.dump(-1, ' ', true, Json::error_handler_t::replace);
}

constexpr const char* kind_words[] = {"part", "fastener", "task"};

} // namespace

Snapshot snapshot_of(const Map& map) {
    Snapshot out;
    out.map = std::filesystem::path(map.path).filename().string();
    out.job = map.job;
    const std::vector<std::string> shapes = shapes_of(map);
    for (std::size_t i = 0; i < map.items.size(); ++i) {
        const Item& item = map.items[i];
        out.items.push_back(
            {item.id, item.name, kind_words[static_cast<std::size_t>(item.kind)], facts_of(map, item), shapes[i]});
    }
    return out;
}

Match match(const Snapshot& then, const Snapshot& now) {
    Match out;
    out.items.assign(then.items.size(), {});
    std::vector<std::uint8_t> taken(now.items.size(), 0);
    std::map<std::string, std::size_t> by_id;
    std::multimap<std::string, std::size_t> by_name;
    for (std::size_t i = 0; i < now.items.size(); ++i) {
        if (!now.items[i].id.empty())
            by_id.emplace(now.items[i].id, i);
        by_name.emplace(now.items[i].name, i);
    }
    const auto of_kind = [](const ItemFacts& a, const ItemFacts& b) {
        return a.kind == b.kind || a.kind.empty() || b.kind.empty();
    };
    const auto take = [&](std::size_t was, std::size_t is) {
        taken[is] = 1;
        out.items[was] = {static_cast<std::int32_t>(is)};
    };
    for (std::size_t i = 0; i < then.items.size(); ++i) {
        const auto found = then.items[i].id.empty() ? by_id.end() : by_id.find(then.items[i].id);
        if (found != by_id.end() && taken[found->second] == 0 && of_kind(then.items[i], now.items[found->second]))
            take(i, found->second);
    }
    for (std::size_t i = 0; i < then.items.size(); ++i) {
        const ItemFacts& was = then.items[i];
        if (out.items[i])
            continue;
        const auto [first, last] = by_name.equal_range(was.name);
        for (auto it = first; it != last && !out.items[i]; ++it) {
            const ItemFacts& is = now.items[it->second];
            const bool may = taken[it->second] == 0 && of_kind(was, is) && (was.id.empty() || is.id.empty());
            if (may && was.shape == is.shape)
                take(i, it->second);
        }
        if (out.items[i])
            continue;
        out.lost.push_back(was.name);
        out.differs.push_back(first == last
                                  ? fmt::format("{} is not on this map any more.", was.name)
                                  : fmt::format("{} is not found again: what has its name now is of another shape, "
                                                "kind or id.",
                                                was.name));
    }
    for (std::size_t i = 0; i < then.items.size(); ++i) {
        if (!out.items[i])
            continue;
        const ItemFacts& was = then.items[i];
        const ItemFacts& is = now.items[static_cast<std::size_t>(out.items[i].index)];
        if (was.name != is.name)
            out.differs.push_back(fmt::format("{} is named {} now.", was.name, is.name));
        if (was.shape != is.shape)
            out.differs.push_back(fmt::format("{} has another shape now.", is.name));
        if (was.facts != is.facts && !was.facts.empty())
            out.differs.push_back(fmt::format("{}: other facts are stated now.", is.name));
    }
    for (std::size_t i = 0; i < now.items.size(); ++i)
        if (taken[i] == 0)
            out.differs.push_back(fmt::format("{} is new.", now.items[i].name));
    return out;
}

} // namespace boltwalk
