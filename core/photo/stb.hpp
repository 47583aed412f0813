// stb as this module has it: two formats, nothing read from or written to a disk by itself. For core/photo only.
#pragma once

#include <cstdlib>

#define STBI_ONLY_JPEG
#define STBI_ONLY_PNG
#define STBI_NO_STDIO
#define STBI_NO_LINEAR
#define STBI_WRITE_NO_STDIO
// What it never fills is nought: a table that it takes for read, and was not, must not be whatever lay there.
namespace boltwalk::inside {
inline void* noughts(std::size_t bytes) {
    return std::calloc(1, bytes);
}
} // namespace boltwalk::inside
#define STBI_MALLOC boltwalk::inside::noughts
#define STBI_REALLOC std::realloc
#define STBI_FREE std::free
// One side's limit is stb's own; the pixels in all are judged before (look_at_photo).
#define STBI_MAX_DIMENSIONS 65500
// Fuzzing watches where it writes and reads; that it copies nothing from nowhere, or counts on sums that wrap, harms
// nobody and is not ours to mend.
#ifdef __clang__
#pragma clang attribute push(__attribute__((no_sanitize("nonnull-attribute", "shift", "signed-integer-overflow"))),    \
                             apply_to = function)
#endif
#include <stb/stb_image.h>
#include <stb/stb_image_write.h>
#ifdef __clang__
#pragma clang attribute pop
#endif
