// Whether this is the sanitizers' build, where everything takes many times as long: tests do less there, and say so.
#pragma once

namespace boltwalk::testing {

#ifdef BOLTWALK_SANITIZED // the build says so: the tests' own code is not watched, and cannot tell
inline constexpr bool sanitized = true;
#else
inline constexpr bool sanitized = false;
#endif

} // namespace boltwalk::testing
