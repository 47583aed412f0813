#include "core/block/block.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "core/block/builder.hpp"
#include "core/map/files.hpp"

namespace boltwalk {

std::string say(const std::string& file, const RecipeNote& note) {
    const std::string place = note.line > 0 ? fmt::format("{}:{}:{}", file, note.line, note.column) : file;
    const std::string weight = note.weight == Weight::fault   ? ""
                               : note.weight == Weight::doubt ? "worth a look: "
                                                              : "note: ";
    return fmt::format("{}: {}{}{}{}", place, weight, note.what, note.remedy.empty() ? "" : " ", note.remedy);
}

Blocked block_out(std::string_view recipe) {
    Blocked out;
    const auto tree = recipe::read_tree(recipe);
    if (!tree) {
        out.is_toml = false;
        out.notes.push_back(tree.error());
        return out;
    }
    recipe::Notes notes;
    recipe::Builder builder(*tree, notes);
    builder.read();
    if (!notes.faulty())
        out.glb = builder.write(out);
    if (!notes.faulty()) {
        // What the annotation says is judged where every map's is.
        const auto map = read_map_bytes(span_of(out.glb), "", "");
        if (!map)
            notes.fault({}, fmt::format("What came of it cannot be read: {}", map.error().text),
                        "This is a fault of the program.");
        else
            for (const Finding& finding : map->findings) {
                if (finding.rule == "no-photo")
                    continue; // a recipe names files; who has the folder puts them in
                const std::string node = finding.nodes.empty() ? "" : finding.nodes.front();
                const std::string key = finding.key.empty() ? "" : finding.key + ": ";
                notes.add(finding.weight, builder.place_of(node, finding.key),
                          fmt::format("{}{}{}{}{}", node, node.empty() ? "" : ": ", key, finding.what,
                                      finding.why.empty() ? "" : " " + finding.why),
                          finding.remedy);
            }
    }
    if (notes.faulty())
        out.glb.clear();
    out.notes = std::move(notes.list);
    std::stable_sort(out.notes.begin(), out.notes.end(), [](const RecipeNote& a, const RecipeNote& b) {
        return a.line != b.line ? a.line < b.line : a.column < b.column;
    });
    return out;
}

} // namespace boltwalk
