#include "core/block/builder.hpp"

namespace boltwalk::recipe {

namespace {

bool is_letter(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

} // namespace

std::string swapped(const std::string& text) {
    std::string out;
    for (std::size_t at = 0; at < text.size();) {
        std::size_t end = at;
        while (end < text.size() && is_letter(text[end]))
            ++end;
        if (end == at) {
            out += text[at++];
            continue;
        }
        const std::string word = text.substr(at, end - at);
        out += word == "left"    ? "right"
               : word == "right" ? "left"
               : word == "Left"  ? "Right"
               : word == "Right" ? "Left"
               : word == "LEFT"  ? "RIGHT"
               : word == "RIGHT" ? "LEFT"
                                 : word;
        at = end;
    }
    return out;
}

Frame mirrored(const Frame& frame) {
    // S R S with S = diag(-1, 1, 1): again a rotation. The shape in it is mirrored when it is drawn.
    Frame out = frame;
    for (int column = 0; column < 3; ++column)
        for (int row = 0; row < 3; ++row)
            if ((column == 0) != (row == 0))
                out.turn[column][row] = -out.turn[column][row];
    out.at.x = -out.at.x;
    return out;
}

} // namespace boltwalk::recipe
