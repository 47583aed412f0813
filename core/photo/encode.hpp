// Pixels to a JPEG file that holds nothing else. For core/photo only.
#pragma once

#include <string>

#include "core/photo/photo.hpp"

namespace boltwalk::inside {

/// Empty where it cannot be encoded.
std::string jpeg_of_pixels(const PhotoPixels&);

} // namespace boltwalk::inside
