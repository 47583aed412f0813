// The one table of the annotation's keys: the reader, the check for misspellings and the test of annotation.md use it.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace boltwalk {

enum class KeyId : std::uint8_t {
    // markers
    part,
    fastener,
    task,
    group,
    // scene
    job,
    vehicle,
    target,
    // scene and items
    caution,
    source,
    // any item
    step,
    after,
    refit_after,
    refit_free,
    not_in_way,
    from,
    people,
    needs,
    note,
    refit_note,
    refit_caution,
    photo,
    id,
    // group
    count,
    // fastener
    holds,
    joint,
    stack,
    turn,
    secures,
    thread,
    length_mm,
    head,
    drive,
    grade,
    hand,
    counter,
    counter_from,
    held_through,
    torque,
    torque_after,
    pattern,
    passes,
    slot,
    renew,
    lock,
    condition,
    soak_min,
    frees_when,
    leaves_with,
    captive_in,
    own_place,
    axis,
    // part
    fixed,
    mass_kg,
    material,
    transfer,
    road_wheel,
    way,
    lower,
    aside,
    hang_from,
    tether,
    support,
    carried_by,
    lift_point,
    loaded,
    turns,
    adjust,
    flexible,
    fluid,
    amount_l,
    opens,
    // task
    when,
    gate,
    does,
    to,
    sets,
};
inline constexpr std::size_t key_count = static_cast<std::size_t>(KeyId::sets) + 1;

/// Where a key may stand.
enum On : std::uint8_t { on_scene = 1, on_group = 2, on_part = 4, on_fastener = 8, on_task = 16 };

struct Key {
    KeyId id;
    std::string_view name;
    std::uint8_t on;          ///< On, added up
    bool inherited;           ///< from the group to its members
    bool turned_only = false; ///< not inherited by washers, pins and the like, which no tool turns
    std::string_view choices; ///< "head|nut"; empty: no fixed words
};

/// In the order of KeyId.
std::span<const Key> all_keys();
const Key& key_of(KeyId);
std::optional<KeyId> find_key(std::string_view name);

/// The known key that this one was probably meant to be. Two letters may differ in a long key, one in a short one; two
/// neighbours that changed places count as one.
std::optional<KeyId> near_key(std::string_view unknown);

/// Its value is a list of node names.
bool names_items(KeyId);

/// "a|b|c" taken apart.
std::vector<std::string_view> choices_of(const Key&);
/// The choice nearest to `word`, if one is near.
std::optional<std::string_view> near_choice(const Key&, std::string_view word);

/// Letters to change, add, drop or swap with their neighbour, at most `limit` + 1 (Damerau's distance, neighbours
/// swapped once).
std::size_t edit_distance(std::string_view a, std::string_view b, std::size_t limit);
/// How many letters may differ before two words are taken for two: none up to 3 letters, 1 up to 5, else 2.
std::size_t near_limit(std::size_t letters);

} // namespace boltwalk
