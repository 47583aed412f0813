// A JPEG file's segments and a PNG file's chunks, walked without decoding. For core/photo only.
//
// Source: PNG, third edition (W3C), 5.3: behind eight bytes of signature each chunk has four bytes of length, high byte
// first, four letters of type, so many bytes of data and four of a checksum; IEND is the last. ITU-T T.81 (JPEG), annex
// B: markers of two bytes, 0xFF first; all but SOI, EOI, RSTn and TEM are followed by a length of two bytes, high byte
// first, that counts itself; behind SOS stands entropy-coded data in which 0xFF is followed by 0x00 or RSTn until the
// next marker. Numbers from memory.
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string_view>

namespace boltwalk::inside {

inline std::uint8_t byte_at(std::span<const std::byte> bytes, std::size_t at) {
    return static_cast<std::uint8_t>(bytes[at]);
}

inline bool is_jpeg(std::span<const std::byte> file) {
    return file.size() > 3 && byte_at(file, 0) == 0xff && byte_at(file, 1) == 0xd8 && byte_at(file, 2) == 0xff;
}

/// Calls take(marker, payload) for every segment until it says false. True when the end of the image was reached.
template <typename Take>
bool walk_segments(std::span<const std::byte> file, const Take& take) {
    if (!is_jpeg(file))
        return false;
    bool wanted = true;
    for (std::size_t at = 2; at + 1 < file.size();) {
        if (byte_at(file, at) != 0xff) {
            ++at; // entropy-coded data, or bytes that no standard knows
            continue;
        }
        const std::uint8_t marker = byte_at(file, at + 1);
        if (marker == 0xff) { // fill
            ++at;
            continue;
        }
        at += 2;
        if (marker == 0xd9)
            return true;
        if (marker <= 0x01 || (marker >= 0xd0 && marker <= 0xd8))
            continue;
        if (at + 2 > file.size())
            return false;
        const std::size_t length = std::size_t{byte_at(file, at)} * 256 + byte_at(file, at + 1);
        if (length < 2 || length > file.size() - at)
            return false;
        wanted = wanted && take(marker, file.subspan(at + 2, length - 2));
        at += length;
    }
    return false;
}

/// Calls take(type, data) for every chunk until it says false, also for what stands behind the last; of one that is cut
/// off, with what there is of it. True when all lie whole in the file, to the last.
template <typename Take>
bool walk_chunks(std::span<const std::byte> file, const Take& take) {
    constexpr std::size_t signature = 8, round_data = 12;
    bool wanted = true, ended = false;
    for (std::size_t at = signature; at + round_data <= file.size();) {
        std::size_t length = 0;
        for (std::size_t i = 0; i < 4; ++i)
            length = length * 256 + byte_at(file, at + i);
        const std::string_view type(reinterpret_cast<const char*>(file.data() + at + 4), 4);
        const std::size_t there = file.size() - at - round_data;
        wanted = wanted && take(type, file.subspan(at + 8, std::min(length, there)));
        if (length > there)
            break;
        ended = ended || type == "IEND";
        at += length + round_data;
    }
    return ended;
}

} // namespace boltwalk::inside
