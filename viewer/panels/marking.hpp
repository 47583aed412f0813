// A model being marked up: what was said of its nodes so far, undone and done again, kept beside the file. No Dear
// ImGui and no OpenGL: marking_room.cpp and marking_form.cpp draw it.
//
// Everything a person does is a deed: keys of nodes, a proposal turned down, an answer about units. The file as it was
// opened and the deeds give the map as it is; nothing else is remembered, so undoing is forgetting the last one. After
// every deed they are written beside the file (FILE.marking), and taken up again when that file is opened anew; saving
// takes them away.
#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include <tl/expected.hpp>

#include "core/map/keys.hpp"
#include "core/propose/propose.hpp"
#include "viewer/scene/scene.hpp"

namespace boltwalk {

struct MarkDeed {
    std::string what; ///< for people: "thread of 4 nodes"
    std::vector<Change> changes;
    std::int32_t refused = -1; ///< node of a proposal that is none
    // an answer about units
    bool answers_scale = false, answers_up = false;
    double scale = 1;
    std::array<double, 4> rotation{0, 0, 0, 1};
    // a photograph put in (`jpeg`), or taken out (no `jpeg`); empty: none
    std::string photo, jpeg;
    // a new node above these
    std::string group;
    std::vector<std::int32_t> grouped;
};

struct Marking {
    std::string path;     ///< as opened
    std::string save_to;  ///< being typed
    std::string original; ///< the file's bytes
    std::vector<MarkDeed> deeds;
    std::size_t done = 0; ///< of the deeds; the others were undone
    std::size_t saved = 0;
    bool recovered = false; ///< deeds were found beside the file when it was opened
    int saves = 0;          ///< so far: a page hands each over
    std::string saved_to;   ///< the last of them; empty: none
    std::string in_the_way; ///< save_to where it was found to name a file that is not ours to write over
    /// Files that were saved since the program began: written over without asking.
    std::set<std::string> written;
    int keeps = 0;    ///< times that what is kept beside the file changed: a page puts it into the browser's storage
    std::string said; ///< of the last thing that was done

    // what follows from those
    std::string bytes;
    Map map;
    std::vector<Finding> findings; ///< as `boltwalk check` has them, without what shapes say
    /// Key and value as a person types it.
    using Said = std::vector<std::pair<std::string, std::string>>;
    std::vector<Said> extras; ///< by node
    Said scene;               ///< of the whole job
    UnitQuestion question;
    Proposals proposals;
    std::set<std::int32_t> refused; ///< nodes
    /// To be drawn and pointed at: every node with a mesh is an item of its own.
    std::unique_ptr<Map> shown;
    Stage stage;
    std::vector<ItemId> item_of; ///< of `shown`, by node
    int stages = 0;              ///< made so far: what was uploaded of an earlier one is stale

    std::vector<std::int32_t> picked; ///< nodes, in the order in which they were picked
    std::set<std::int32_t> hidden;    ///< nodes that are not drawn for now
    std::vector<Finding> typed;       ///< what is wrong with the value being typed
    std::string typed_for;            ///< key and value that `typed` is of
    KeyId offering = KeyId::id;       ///< the key whose offers are open; id: none
};

/// The error is a sentence. `written`: Marking::written of earlier rooms.
tl::expected<std::shared_ptr<Marking>, std::string> open_marking(const std::string& path,
                                                                 const std::set<std::string>& written = {});

/// False, and said why, where the file cannot become so. What was undone is then gone.
bool add_deed(Marking&, MarkDeed);
void undo(Marking&);
void redo(Marking&);
/// To save_to, in whole or not at all. False, and said why, when that failed. A file that is neither the one opened nor
/// one of those written is written over only with `replace`: without, asks_replace() is true from then on.
bool save(Marking&, bool replace = false);
bool asks_replace(const Marking&);
/// Where to save what lies at `path`: a name that no file has, or that was written before.
std::string name_to_save(const std::string& path, const std::set<std::string>& written);
bool is_unsaved(const Marking&);
std::string autosave_path(const std::string& path);

// ---- picking

void pick_node(Marking&, std::int32_t node, bool also); ///< `also`: beside those picked; once more takes it out again
/// Closes an open list of offers; only where none is open, lets go of what is picked.
void step_out(Marking&);
/// Everything of the same shape as what is picked; of proposals all that are alike.
void pick_alike(Marking&);
/// Nodes of the scene, in file order, whose name or title holds `text` (capitals do not matter).
std::vector<std::int32_t> nodes_named(const Marking&, const std::string& text);
/// Those with a mesh below that one: what a group gathers.
std::vector<std::int32_t> held_by(const Marking&, std::int32_t node);
/// What is picked, each node once, and in place of one without a mesh what it gathers.
std::vector<std::int32_t> drawn_of_picked(const Marking&);
/// "Starter motor (Cylinder)"; the name alone where nobody gave a title.
std::string label_of(const Marking&, std::int32_t node);

// ---- saying what it is; of the whole job where nothing is picked

enum class MarkKind : std::uint8_t { scenery, part, fastener, task, group };
MarkKind kind_of(const Marking&, std::int32_t node);
/// Of all that is picked; scenery takes every key of the annotation away.
bool mark_as(Marking&, MarkKind);
/// The keys that fit all that is picked, in the table's order, markers left out.
std::vector<KeyId> keys_for(const Marking&);
/// The value that all picked nodes state, or nothing; "several" is told by `differ`.
std::string value_of(const Marking&, KeyId, bool* differ = nullptr);
/// Its value may be "true", where the node's own name is the title.
bool is_title(KeyId);
/// What stands in the field: as value_of(), but nothing where the title is the node's own name.
std::string shown_of(const Marking&, KeyId);
/// What a typed text says: a title that one node has becomes that node's name, no title "true".
std::string meant_by(const Marking&, KeyId, const std::string& typed);
/// What a person typed for all that is picked; an empty text takes the key away, unless it is a title.
bool set_value(Marking&, KeyId, const std::string& text);
/// What to do about a finding in this room: its own remedy may speak of a modelling tool.
std::string remedy_here(const Marking&, const Finding&);
/// Fills Marking::typed: the findings that this value would add, as reading finds them.
void try_value(Marking&, KeyId, const std::string& text);
/// Values worth offering: the key's fixed words, what the tables sell with what is measured, the parts that it may
/// hold.
std::vector<std::string> offers_for(const Marking&, KeyId);
/// One line: what the key means of what is picked.
std::string meaning_for(const Marking&, KeyId);
/// As a person should read it: names of nodes with their titles.
std::string label_of_offer(const Marking&, KeyId, const std::string& offer);
/// What stands in an empty field: "such as 64 N·m".
std::string_view hint_of(KeyId);

// ---- photographs, and groups that the file does not have yet

/// The photographs that what is picked names, each once.
std::vector<std::string> photos_of(const Marking&);
/// Of all that is picked, from a camera's file. False, and said why, where that is none, or nothing is picked.
bool add_photo(Marking&, const std::string& path);
bool add_photo_bytes(Marking&, const std::string& name, const std::string& bytes);
/// Out of what is picked; out of the file, too, where nothing else names it.
bool drop_photo(Marking&, const std::string& name);
/// A new node above the picked fasteners, with that title; it is what is picked then.
bool make_group(Marking&, const std::string& title);
/// Everything that is picked is a fastener.
bool can_group(const Marking&);

// ---- proposals

/// Of that node, whether open or answered; null: none.
const Proposal* proposal_of(const Marking&, std::int32_t node);
/// Indices of those that nobody has taken or turned down.
std::vector<std::size_t> open_proposals(const Marking&);
bool take_proposals(Marking&, const std::vector<std::size_t>&);
bool refuse_proposal(Marking&, std::size_t);
/// Those of the same shape that are still open.
std::vector<std::size_t> alike_open(const Marking&, std::size_t);
/// The one that is asked now, in plain words; empty: none.
std::string question_of(const Marking&);
/// The figures that it is asked for.
std::vector<std::string> why_asked(const Marking&);
bool asks_scale(const Marking&);
bool asks_up(const Marking&);
bool answer_scale(Marking&, bool yes);
bool answer_up(Marking&, bool yes);

} // namespace boltwalk
