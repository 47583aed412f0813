// Any bytes as a photograph: what is taken holds nothing but pixels, is upright and no larger than it may be.
#include <algorithm>
#include <cstdlib>

#include "core/photo/photo.hpp"

using namespace boltwalk;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const auto file = std::as_bytes(std::span(data, size));
    const int orientation = orientation_of_photo(file);
    if (orientation < 1 || orientation > 8)
        std::abort();
    static_cast<void>(told_by_photo(file));
    const auto seen = look_at_photo(file);
    // What decodes fast is tried whole; the limits themselves are the unit test's.
    if (!seen || std::size_t(seen->width) * std::size_t(seen->height) > 200'000)
        return 0;
    const auto taken = take_photo(file);
    if (!taken)
        return 0;
    const auto kept = std::as_bytes(std::span(taken->jpeg.data(), taken->jpeg.size()));
    const auto again = look_at_photo(kept);
    if (!again || again->width != taken->width || std::max(taken->width, taken->height) > photo_side_px ||
        orientation_of_photo(kept) != 1 || !told_by_photo(kept).empty())
        std::abort();
    return 0;
}
