// What to do about a finding in the room where a model is marked up. The findings themselves are check's, whose reader
// may sit at a modelling tool: what such a tool would mend is said otherwise here, and what only it can mend says so.
#include <array>
#include <string_view>
#include <utility>

#include <fmt/format.h>

#include "viewer/panels/marking.hpp"

namespace boltwalk {

namespace {

constexpr std::string_view named_anew = "Say Scenery of it, then again what it is: so it gets a name of its own, and "
                                        "its keys are typed anew. Or name it where the model was made.";

constexpr std::array<std::pair<std::string_view, std::string_view>, 8> mended_here{{
    {"not-annotated",
     "Pick a shape, in the drawing or under Nodes, and say what it is: Part or Fastener. Proposals lists "
     "what looks like a fastener."},
    {"on-mesh", "Pick it, say what it is, and fill in those keys here: what stands on the mesh is not read."},
    {"no-target", "With nothing picked the form is the whole job's: choose the part under target."},
    {"no-source", "Say the source of the whole job, with nothing picked, or that of the items."},
    {"two-of-one-name", named_anew},
    {"name-with-semicolon", named_anew},
    {"unnamed", named_anew},
    {"no-item", "Pick it, and say what it is: Part, Fastener, Group or Task."},
}};

/// Odd in the file, and read all the same: the drawing shows how.
constexpr std::array<std::string_view, 5> may_stay{"matrix", "rotation", "scene-root", "normals", "extension"};

/// The room changes keys, and neither shapes nor what stands in which scene.
constexpr std::array<std::string_view, 6> not_here{"scale",        "absurd-size",   "name-unseen",
                                                   "not-in-scene", "two-of-one-id", "key-twice"};

template <typename List>
bool holds(const List& list, std::string_view rule) {
    for (const std::string_view one : list)
        if (one == rule)
            return true;
    return false;
}

} // namespace

std::string remedy_here(const Marking& marking, const Finding& finding) {
    for (const auto& [rule, words] : mended_here)
        if (finding.rule == rule)
            return std::string(words);
    if (finding.rule == "absurd-size" && asks_scale(marking))
        return "Answer the question about its size, above the drawing.";
    if (holds(may_stay, finding.rule))
        return "It may stay so, where the drawing shows it right. If not, it is mended where the model was made: " +
               finding.remedy;
    if (holds(not_here, finding.rule))
        return "Not to be mended in this room, but where the model was made: " + finding.remedy;
    return finding.remedy;
}

} // namespace boltwalk
