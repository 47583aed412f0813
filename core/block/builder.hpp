// A recipe on its way to a map. For core/block only.
//
//   entries.cpp    each table becomes an entry: what it is, whether its words are known, where its things stand
//   parts.cpp      shapes, pieces and holes
//   fasteners.cpp  hardware by its designation
//   joints.cpp     what lies along a joint, and drilling
//   mirror.cpp     left and right change places
//   emit.cpp       nodes and keys
//   glb.cpp        meshes and bytes
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "core/block/hardware.hpp"
#include "core/block/place.hpp"
#include "core/map/keys.hpp"

namespace boltwalk::recipe {

enum class Sort { part, scenery, fastener, task, group };

/// What of a joint a node is.
enum class Role { self, head_washer, nut_washer, nut };

/// A thing in its place.
struct Instance {
    std::size_t entry = 0;
    Role role = Role::self;
    bool mirrored = false;
    std::string name;
    int number = 0; ///< of several, from 1; 0: the only one
    Frame frame;
    std::vector<Piece> pieces; ///< of a part: its own, for each is drilled for itself
    std::string joint;         ///< empty: none of ours
    int stack = 0;
};

/// A table of the recipe.
struct Entry {
    const Member* member = nullptr;
    Sort sort = Sort::scenery;
    std::string name, each; ///< each: what its members are called, less their number
    std::string in;         ///< the group's table it belongs to
    bool many = false;      ///< its node is a group, its things are members
    const Value* mirror = nullptr;
    bool mirror_apart = false; ///< the mirrored ones have a name, and a group, of their own
    std::string mirror_name, mirror_each;
    Placing placing;
    Way facing = Way::up;
    std::vector<Piece> pieces;
    Box box;
    std::optional<HardwareForm> form, nut, head_washer, nut_washer;
    std::vector<std::string> clear, tapped;
    bool misspelt = false;      ///< a word of it was told already
    bool failed = false;        ///< it came to no place: told already, and what stands on it is not at fault
    bool drills_itself = false; ///< clear and tapped follow from what it holds
    const HardwareStandard* standard = nullptr; ///< as named
    Value designated;                           ///< keys that its designation states: a table
    std::optional<double> grip_mm;
    std::vector<std::size_t> instances;

    const Value& table() const { return member->value; }
    Mark mark() const { return member->mark; }
};

class Builder {
public:
    Builder(const Value& recipe, Notes& to) : recipe_(recipe), notes(to) {}

    /// Reads everything; what is wrong stands in the notes.
    void read();
    /// The map; only where nothing is wrong.
    std::string write(Blocked& counts);

    /// Where a finding about that node's key is rooted.
    Mark place_of(const std::string& node, const std::string& key) const;

private:
    friend class Emitter;

    // entries.cpp
    bool open(const Member&);
    void check_words(Entry&);
    void place(Entry&);
    std::optional<Target> target(const std::string& name, Mark);
    /// Whether that name would be of a table, or of a piece in one, that failed and was told.
    bool is_of_failed(const std::string& name) const;
    /// The first of these names that no part has, though none that failed would have it. Empty: none.
    std::string unknown_part(const std::vector<std::string>& names) const;
    void no_such_part(const std::string& name, Mark);
    /// The value of a key on the table itself, in `draw`, or on the group that it is in.
    const Member* stated(const Entry&, std::string_view key, bool draw_too) const;
    const Entry* entry_of(const std::string& name) const;
    /// Instances of that node's name, or all that a table of that name made.
    std::vector<std::size_t> instances_of(const std::string& name) const;
    bool add_instance(Entry&, Instance);
    void take_over(Entry&, const std::vector<Seat>&);
    Frame frame_of(const Entry&, const Seat&) const;

    // parts.cpp
    void read_pieces(Entry&);
    void read_piece(Entry&, const Member&);
    void read_holes(Entry&, const Value& table, std::size_t first_piece);

    // fasteners.cpp
    void read_designation(Entry&, const Member& standard);
    const HardwareStandard* standard_of(const Entry&) const;
    void read_hardware(Entry&);
    void read_nut(Entry&, const Thread&, const HardwareStandard* bolt);
    void join(Entry&);
    std::optional<double> grip_of(const Entry&, const Instance&);
    void drill();
    void drill(const Entry&, const Instance&, const std::string& part, bool tapped, Mark);

    const Value& recipe_;
    Notes& notes;
    std::vector<Entry> entries_;
    std::vector<Instance> instances_;
    std::map<std::string, std::size_t> by_name_; ///< instances
    std::set<std::string> names_;                ///< of all nodes
    struct Origin {
        std::size_t entry = 0;
        Role role = Role::self;
        bool mirrored = false;
    };
    std::map<std::string, Origin> groups_; ///< group nodes that entries made
};

// mirror.cpp
/// "mount_left" to "mount_right": left and right as whole words, in small letters, capitals or one capital.
std::string swapped(const std::string&);
Frame mirrored(const Frame&);

/// "mount_bolt_1" to "mount_nut_1".
std::string name_of_role(const std::string& bolt, Role, bool washers_at_both_ends);

/// "skid_bolts" to "Skid bolts".
std::string title_of(const std::string& name);
/// Of a table with that name: whether the word is one of a recipe, in such a place.
bool is_word(std::string_view word, unsigned where);

} // namespace boltwalk::recipe
