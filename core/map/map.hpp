// The map: an annotated glTF model in memory.
//
// Axes as glTF has them: metres, +Y up, the front of the vehicle at +Z, its left at +X, right-handed, matrices column
// by column. Triangles are counter-clockwise seen from outside. Items, nodes and meshes refer to each other by index;
// an index of -1 (or an ItemId that is false) is none. Items stand in file order (order of the nodes in the file), and
// ties anywhere in the program are decided by it.
#pragma once

#include <array>
#include <compare>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <tl/expected.hpp>
#include <vector>

#include "core/map/finding.hpp"
#include "core/measure/measure.hpp"
#include "core/standards/standards.hpp"

namespace boltwalk {

// ----------------------------------------------------------------------------------------------------------------
// values

struct ItemId {
    std::int32_t index = -1;
    explicit operator bool() const { return index >= 0; }
    auto operator<=>(const ItemId&) const = default;
};

enum class Place { not_stated, under, over, left, right, front, rear, inside };
std::string_view name_of(Place);

/// What counts from 0, by an index that is known not to be none's.
constexpr std::size_t at(std::int32_t index) {
    return static_cast<std::size_t>(index);
}
constexpr std::size_t at(Place place) {
    return static_cast<std::size_t>(place);
}

/// What is asked of the vehicle, or what it is: nothing said, or so, or not so.
enum class Ask : std::uint8_t { nothing, yes, no };

/// One value for each thing that a vehicle can be. In an item's `needs` an Ask::nothing leaves it as it is.
struct VehicleAsk {
    Ask stands = Ask::nothing; ///< yes: on axle stands; no: wheels down
    Ask chocked = Ask::nothing;
    Ask brake = Ask::nothing;
    Ask gear = Ask::nothing;     ///< yes: in gear; no: neutral
    Ask battery = Ask::nothing;  ///< yes: connected; no: off
    Ask straight = Ask::nothing; ///< steering straight ahead
    bool operator==(const VehicleAsk&) const = default;
};
/// The annotation's words: "stands; neutral; brake off". Empty when nothing is asked.
std::string print_vehicle(const VehicleAsk&);
Reading<VehicleAsk> read_vehicle(std::string_view text);

enum class Way { front, rear, left, right, up, down };
struct Leg {
    Way way = Way::down;
    double length_mm = 0;
};
/// The unit vector of a direction in glTF's axes.
std::array<double, 3> direction_of(Way);

// -----------------------------------------------------------------------------------------------------------------
// items

enum class ItemKind : std::uint8_t { part, fastener, task };

/// What every item has. Lists of items are resolved: a group's name became its members, each item stands once, in the
/// order written; a name that is no item is a finding and left out.
struct Item {
    ItemKind kind = ItemKind::part;
    std::int32_t detail = -1; ///< index into Map::parts, ::fasteners or ::tasks
    std::int32_t node = -1;
    std::int32_t group = -1;          ///< index into Map::groups
    std::string name;                 ///< of the node
    std::string title;                ///< `part` or `task`; for a fastener its group's title, else its name
    std::string id;                   ///< empty until first saved
    std::optional<std::int32_t> step; ///< its own, or its group's
    std::vector<ItemId> after, refit_after, refit_free;
    std::vector<ItemId> not_in_way; ///< whatever the shapes say
    Place from = Place::not_stated;
    int people = 1;
    VehicleAsk needs;
    std::string note, refit_note, caution, source;
    std::vector<std::int32_t> photos; ///< indices into Map::photos
    std::string refit_caution;        ///< on the way back instead of `caution`; "none": nothing there; empty: the same
};

enum class FastenerKind : std::uint8_t {
    bolt,
    screw,
    nut,
    castle_nut,
    stud,
    washer,
    spacer,
    shim,
    split_pin,
    pin,
    lock_wire,
    tab,
    clip,
    clamp,
    hanger,
    plug,
    drain_plug,
    fill_plug,
    level_plug,
    connector
};
std::string_view name_of(FastenerKind); ///< the annotation's word: "castle_nut"
std::string_view spoken(FastenerKind);  ///< for people: "castle nut"

/// What slides or turns on over a shank, and lies flat: nuts, washers, spacers, shims.
bool goes_over_a_shank(FastenerKind);
/// A castle nut, too.
constexpr bool is_nut(FastenerKind kind) {
    return kind == FastenerKind::nut || kind == FastenerKind::castle_nut;
}

enum class FreesWhen : std::uint8_t { out, slack, nut_off };
enum class Hand : std::uint8_t { right, left };

struct Fastener {
    ItemId item;
    FastenerKind kind = FastenerKind::bolt;
    std::vector<ItemId> holds; ///< parts
    std::string joint;         ///< empty: a joint of its own
    std::optional<int> stack;
    std::string turn;            ///< "head", "nut" or empty
    std::vector<ItemId> secures; ///< fasteners
    std::optional<Thread> thread;
    std::optional<double> length_mm;
    std::string head;
    std::optional<Drive> drive;
    std::string grade;
    Hand hand = Hand::right;
    std::string counter; ///< a drive, "brake", "gear" or text; empty: not stated
    Place counter_from = Place::not_stated;
    std::vector<ItemId> held_through; ///< parts
    std::optional<TorqueSpec> torque; ///< none: not stated
    std::vector<ItemId> torque_after;
    VehicleAsk torque_after_vehicle;
    std::string pattern, passes, slot, lock, condition; ///< as written
    bool renew = false;
    std::optional<double> soak_min;
    FreesWhen frees_when = FreesWhen::out;
    ItemId leaves_with, captive_in; ///< parts
    bool own_place = false;
    std::array<double, 3> axis{0, 1, 0}; ///< unit vector from shank to head, in the node's own axes
};

struct Part {
    ItemId item;
    bool fixed = false, renew = false, transfer = false, flexible = false, adjust = false, road_wheel = false;
    std::optional<double> mass_kg;
    std::string material; ///< a word of annotation.md; empty: not stated
    std::vector<Leg> way;
    std::optional<double> lower_mm;
    std::string aside;           ///< as written; empty: not set aside
    std::vector<Leg> aside_legs; ///< when `aside` is legs
    std::string hang_from;
    std::vector<ItemId> tether;
    std::string support;            ///< "jack", "helper", "strap", "stand", joined by "; "; empty: none
    std::vector<ItemId> carried_by; ///< fasteners; empty: derived by the rules
    std::string lift_point, loaded, turns, adjust_note, fluid;
    std::optional<double> amount_l;
    std::vector<ItemId> opens; ///< parts whose fluid space this opens
};

enum class TaskWhen : std::uint8_t { strip, refit, both };
enum class TaskDoes : std::uint8_t { nothing, prop, mark, unload, soak, prove, drain, fill, level };

struct Task {
    ItemId item;
    TaskWhen when = TaskWhen::strip;
    bool gate = false;
    TaskDoes does = TaskDoes::nothing;
    std::vector<ItemId> to;
    VehicleAsk sets;
};

struct Group {
    std::int32_t node = -1;
    std::string name, title;
    std::optional<int> count;
    std::vector<ItemId> members; ///< items directly of this group
};

// -----------------------------------------------------------------------------------------------------------------
// model

/// A view into bytes that the map owns. stride in bytes; data and stride are multiples of four. Nothing is copied where
/// the file's own layout will do.
template <typename T>
struct Strided {
    const std::byte* data = nullptr;
    std::size_t count = 0;
    std::size_t stride = sizeof(T);
    T operator[](std::size_t i) const;
};

struct Vec3 {
    float x = 0, y = 0, z = 0;
};

/// Triangles of one material. Every index is below positions.count, every position finite: checked while reading.
/// index_size is 2 or 4; indices always present, aligned to it, tightly packed, three a triangle. normals.count is 0 or
/// positions.count.
struct Primitive {
    Strided<Vec3> positions, normals;
    const std::byte* indices = nullptr;
    std::size_t index_count = 0;
    int index_size = 4;
    int material = -1;
    std::uint32_t index(std::size_t i) const;
};

struct Mesh {
    std::string name;
    std::vector<Primitive> primitives;
    std::array<float, 3> low{}, high{}; ///< bounds of the positions that triangles use; low > high when there are none
    std::size_t triangle_count = 0;
};

struct Material {
    std::array<float, 4> colour{0.8F, 0.8F, 0.8F, 1.0F}; ///< linear, base colour times factor
    float metallic = 0, roughness = 0.6F;
    bool double_sided = false;
};

struct Node {
    std::string name; ///< as in the file; unnamed ones get "node 12" (and are never written so)
    std::int32_t parent = -1;
    std::int32_t mesh = -1;
    ItemId item; ///< the nearest item at or above; none: scenery
    std::array<double, 16> world{1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1};
    bool in_scene = false; ///< reached from the scene shown; others are not drawn and hold no item
};

/// A photograph that some item names: an image inside the file.
struct Photo {
    std::string name;                 ///< as the file names the image
    std::span<const std::byte> bytes; ///< a JPEG or PNG file, not looked into; they belong to Map::buffers
};

struct Buffers; ///< the bytes under all views

struct Map {
    std::string path;
    std::string job, vehicle, source;
    std::vector<std::string> cautions;
    ItemId target;

    std::vector<Item> items;
    std::vector<Part> parts;
    std::vector<Fastener> fasteners;
    std::vector<Task> tasks;
    std::vector<Group> groups;

    std::vector<Node> nodes;
    std::vector<Mesh> meshes;
    std::vector<Material> materials;
    std::vector<Photo> photos; ///< those that items name and the file holds, in the order in which they are named
    std::shared_ptr<const Buffers> buffers;

    std::vector<Finding> findings; ///< what reading found, in file order

    const Item& operator[](ItemId id) const { return items[static_cast<std::size_t>(id.index)]; }
    const Part& part(ItemId id) const { return parts[static_cast<std::size_t>((*this)[id].detail)]; }
    const Fastener& fastener(ItemId id) const { return fasteners[static_cast<std::size_t>((*this)[id].detail)]; }
    const Task& task(ItemId id) const { return tasks[static_cast<std::size_t>((*this)[id].detail)]; }
    bool is_part(ItemId id) const { return (*this)[id].kind == ItemKind::part; }
    bool is_fastener(ItemId id) const { return (*this)[id].kind == ItemKind::fastener; }
    bool is_task(ItemId id) const { return (*this)[id].kind == ItemKind::task; }
};

/// The item of that node name, or none. Exact, case counts.
ItemId find_item(const Map&, std::string_view name);
/// The group of that node name, or -1.
std::int32_t find_group(const Map&, std::string_view name);

// --------------------------------------------------------------------------------------------------- reading and
// writing

/// Why a file gives no map at all. `text` names file, place and remedy; exit code 2. It holds names as the file has
/// them: through printable() before a terminal sees it.
struct ReadError {
    std::string text;
};

struct ReadOptions {
    /// Called now and then with a share from 0 to 1; false stops reading with an error that says "stopped". May be
    /// empty.
    std::function<bool(float)> progress;
    /// A file, or all its buffers together, larger than this is refused.
    std::size_t byte_limit = std::size_t{2} << 30;
};

/// Reads .gltf or .glb (told apart by content). Buffers outside the file's own folder are refused; images are never
/// opened. Mistakes in the annotation end up in Map::findings and never stop the reading; annotation.md lists them.
///
/// Refused, with a text that names the place: what is cut off, out of range, infinite, nested too deep, compressed, not
/// UTF-8, a tree that is none, and whatever would take more than its share: no file costs more than 64 MiB and 48 times
/// its own bytes (buffers included), nor time out of proportion to them. A map of sane make costs a little more than
/// its own bytes, for geometry stays where the file has it.
tl::expected<Map, ReadError> read_map(const std::string& path, const ReadOptions& = {});
/// The same from memory; `folder` is where buffers named by the file are looked for (empty: none may be named).
tl::expected<Map, ReadError> read_map_bytes(std::span<const std::byte> bytes, const std::string& name,
                                            const std::string& folder, const ReadOptions& = {});

/// One change to the annotation of a file: key of a node (or of the scene, node == -1). An empty json removes the key.
struct Change {
    std::int32_t node = -1;
    std::string key;
    std::string json; ///< the value as JSON text: "\"64 N·m\"", "12", "true"
    /// Of the node itself instead of its extras: `name` is the only key, its value a text.
    bool of_node = false;
};

/// `text` in quotes, escaped for JSON.
std::string json_quoted(std::string_view text);
/// A value as a person types it: "true", "false" and numbers stay what they look like, as does nothing at all;
/// everything else is a text. `typed` is UTF-8.
std::string json_typed(const std::string& typed);

/// The file with those changes: everything else stays byte for byte (a .glb's JSON chunk is padded anew, its lengths
/// are rewritten), what no reader of ours understands included. Of several changes to one key the last counts. An
/// error: a node or key that cannot be, a value that is no JSON, `extras` that are no object, or a file that is not
/// read_map's kind. Without changes the file comes back as it was.
tl::expected<std::string, ReadError> write_changes(std::span<const std::byte> file, std::span<const Change>);

/// The file with a photograph in it: `jpeg` in the place of the image named `old_name`, which is called `name` from
/// then on. An empty `old_name`: as a new image, or in the place of one that was taken out (named photo_taken_out).
///
/// A new image comes in a buffer view (of a .glb's binary chunk; of a .gltf as a data: URI), with a texture, a material
/// and a triangle without extent in a mesh of a node of its own, whose extras say "photographs": what modelling tools
/// hold is what something shown uses. Our reader passes that node over. Everything else stays as it was; where a
/// photograph changes its length, what lies behind it in the binary chunk moves.
/// An error: no such image, one whose bytes are shared or in a file of their own, a file that is not read_map's kind.
tl::expected<std::string, ReadError> write_photo(std::span<const std::byte> file, std::string_view old_name,
                                                 std::string_view name, std::string_view jpeg);
inline constexpr std::string_view photo_taken_out = "(taken out)";
/// What the file's nodes state under that key, as texts, by node; those that do not state it are left out.
std::vector<std::pair<std::int32_t, std::string>> values_of_key(std::span<const std::byte> file, std::string_view key);
/// The names of a file's images, in its order; empty where one has none, or the file cannot be read.
std::vector<std::string> image_names(std::span<const std::byte> file);

/// The file (that `map` was read from) with a new node, the last, that becomes the parent of those nodes; where each
/// stands stays as it was. It stands where they stood, or, where they stood below different nodes, at the top of the
/// scene; a node whose parent was moved or turned then gets a matrix. Of nodes one below the other only the upper one
/// changes its parent. An error: no node, one that is not there, a matrix for a node while the file has animations.
tl::expected<std::string, ReadError> write_group(std::span<const std::byte> file, const Map& map, std::string_view name,
                                                 std::span<const std::int32_t> nodes);

/// The file with its scene turned and scaled: a new node, the last, becomes the parent of all that the scene shows; no
/// other number changes. `rotation` as glTF has it (x, y, z, w; unit). An error: no scene, a scale of 0 or less, a root
/// that another scene shows, too.
tl::expected<std::string, ReadError> write_turned(std::span<const std::byte> file, double scale,
                                                  const std::array<double, 4>& rotation);

/// Changes that give an `id` to every item that has none, and to every later one of two that have the same. Short, made
/// of the name's ASCII letters and digits, unique in the map; the same map gets the same ids.
std::vector<Change> missing_ids(const Map&);

} // namespace boltwalk
