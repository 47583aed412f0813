// An address as a code for a camera (ISO/IEC 18004, by libqrencode).
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace boltwalk {

/// Square, row by row, true is dark, the quiet zone of four modules not among them. Empty: the text is too long.
struct QrCode {
    int width = 0;
    std::vector<bool> dark;
    bool at(int x, int y) const {
        return x >= 0 && y >= 0 && x < width && y < width &&
               dark[static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x)];
    }
};

QrCode qr_code(std::string_view text);

/// For a terminal, two modules a letter, one above the other, with its quiet zone. With `colours` it says black on
/// white, whatever the terminal's own are; without, dark is what is printed.
std::string qr_lines(const QrCode&, bool colours);

} // namespace boltwalk
