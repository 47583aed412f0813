// What the desktop's window remembers of a screen from one start to the next: the ruler's correction, light, reading
// distance, unit, reading aloud. A file of its own among the person's settings (XDG Base Directory Specification 0.8:
// $XDG_CONFIG_HOME, else .config in $HOME), an object of JSON with an entry a screen: another monitor has another size
// and stands elsewhere. Where it cannot be read or written the window opens as it always did.
#pragma once

#include <string>
#include <string_view>

namespace boltwalk {

/// Empty where neither variable names a folder by its whole path.
std::string remembered_path();

/// `screen`: its pixels and millimetres, in words.
std::string screen_key(int width_px, int height_px, int width_mm, int height_mm);

/// A line of settings_of() (bookmark.hpp), or empty.
std::string remembered(const std::string& path, const std::string& screen);
/// Leaves the other screens' as they are. False when it could not be written.
bool remember(const std::string& path, const std::string& screen, std::string_view settings);

} // namespace boltwalk
