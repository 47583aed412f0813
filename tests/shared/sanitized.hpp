// Whether this is the sanitizers' build, where everything takes many times as long: tests do less there, and say so.
#pragma once

namespace boltwalk::testing {

#if defined(__SANITIZE_ADDRESS__) // g++
inline constexpr bool sanitized = true;
#elif defined(__has_feature) // clang
inline constexpr bool sanitized = __has_feature(address_sanitizer);
#else
inline constexpr bool sanitized = false;
#endif

} // namespace boltwalk::testing
