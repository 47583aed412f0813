// Turning a whole scene: a node of its own above all roots, so that no other number in the file changes.

#include <algorithm>

#include <fmt/format.h>

#include "core/map/map.hpp"
#include "core/map/write.hpp"

namespace boltwalk {

tl::expected<std::string, ReadError> write_turned(std::span<const std::byte> file, double scale,
                                                  const std::array<double, 4>& rotation) {
    const auto opened = open_json(file);
    if (!opened)
        return tl::unexpected(opened.error());
    const Json& json = opened->json;
    if (!(scale > 0) || !(scale < 1e9))
        return cannot(fmt::format("a scale of {} is none: it is above 0", scale));
    const TokenId list = find_member(json, 0, "nodes");
    const std::size_t count = elements_of(json, list).size();
    const std::vector<TokenId> scenes = elements_of(json, find_member(json, 0, "scenes"));
    const double index = shown_scene(json);
    if (!(index >= 0) || index >= static_cast<double>(scenes.size()) || count == 0)
        return cannot("the file has no scene, so there is nothing to turn. Save it with a scene in the program that "
                      "made it");
    const TokenId roots = find_member(json, scenes[static_cast<std::size_t>(index)], "nodes");
    const std::vector<TokenId> own = elements_of(json, roots);
    if (own.empty())
        return cannot("the scene is empty, so there is nothing to turn");
    // A node has one parent: what is a root here must be none of another scene.
    for (std::size_t s = 0; s < scenes.size(); ++s)
        if (s != static_cast<std::size_t>(index))
            for (const TokenId other : elements_of(json, find_member(json, scenes[s], "nodes")))
                for (const TokenId root : own)
                    if (json.raw(other) == json.raw(root))
                        return cannot(fmt::format("scene {} shows node {}, too, and a node has one parent only. Leave "
                                                  "one scene in the file",
                                                  s, json.raw(root)));
    std::string node = fmt::format("{{\"name\":\"turned_upright\",\"children\":{}", json.raw(roots));
    if (rotation != std::array<double, 4>{0, 0, 0, 1})
        node += fmt::format(",\"rotation\":[{},{},{},{}]", rotation[0], rotation[1], rotation[2], rotation[3]);
    if (scale != 1)
        node += fmt::format(",\"scale\":[{0},{0},{0}]", scale);
    node += "}";
    std::vector<Edit> edits{{json[list].end - 1, json[list].end - 1, "," + node},
                            {json[roots].begin, json[roots].end, fmt::format("[{}]", count)}};
    return with_json(file, edited(json.text, edits));
}

} // namespace boltwalk
