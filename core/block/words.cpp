#include <algorithm>
#include <array>

#include "core/block/builder.hpp"

namespace boltwalk {

namespace {

constexpr unsigned shaped = in_part | in_piece | in_fastener | in_task;
constexpr unsigned placed = shaped | in_hole;

constexpr std::array words{
    RecipeWord{"box", shaped},
    RecipeWord{"plate", shaped},
    RecipeWord{"round", shaped},
    RecipeWord{"cylinder", shaped},
    RecipeWord{"tube", shaped},
    RecipeWord{"cone", shaped},
    RecipeWord{"turned", shaped},
    RecipeWord{"extruded", shaped},
    RecipeWord{"pipe", shaped},
    RecipeWord{"facing", shaped},
    RecipeWord{"sides", placed},
    RecipeWord{"holes", in_part | in_piece},
    RecipeWord{"colour", in_part | in_fastener | in_task},
    RecipeWord{"on", placed},
    RecipeWord{"at", shaped},
    RecipeWord{"move", placed},
    RecipeWord{"rotate", shaped},
    RecipeWord{"row", placed},
    RecipeWord{"grid", placed},
    RecipeWord{"circle", placed},
    RecipeWord{"corners", placed},
    RecipeWord{"mirror", in_part | in_fastener},
    RecipeWord{"each", in_part | in_fastener},
    RecipeWord{"in", in_part | in_fastener | in_task},
    RecipeWord{"standard", in_fastener | in_group},
    RecipeWord{"nut", in_fastener},
    RecipeWord{"washer", in_fastener},
    RecipeWord{"grip", in_fastener},
    RecipeWord{"rooted", in_fastener},
    RecipeWord{"draw", in_fastener},
    RecipeWord{"drill", in_fastener},
    RecipeWord{"clear", in_fastener},
    RecipeWord{"tapped", in_fastener},
    RecipeWord{"d", in_hole},
    RecipeWord{"clears", in_hole},
    RecipeWord{"threaded", in_hole},
    RecipeWord{"deep", in_hole},
    RecipeWord{"slot", in_hole},
    RecipeWord{"towards", in_hole},
    RecipeWord{"window", in_hole},
    RecipeWord{"counterbore", in_hole},
    RecipeWord{"countersink", in_hole},
};

} // namespace

std::span<const RecipeWord> recipe_words() {
    return words;
}

namespace recipe {

bool is_word(std::string_view word, unsigned where) {
    return std::any_of(words.begin(), words.end(),
                       [&](const RecipeWord& w) { return w.word == word && (w.where & where) != 0; });
}

std::string title_of(const std::string& name) {
    std::string title = name;
    std::replace(title.begin(), title.end(), '_', ' ');
    if (!title.empty() && title[0] >= 'a' && title[0] <= 'z')
        title[0] = static_cast<char>(title[0] - 'a' + 'A');
    return title;
}

} // namespace recipe

} // namespace boltwalk
