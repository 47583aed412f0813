// Where somebody is in a job and how they look at it, as a line of JSON: what a web page keeps in the browser's
// storage, so that a reload in the middle of a step comes back to it. Not the log: it says where one stands, not what
// was done.
#pragma once

#include <string>
#include <string_view>

#include "viewer/panels/view.hpp"

namespace boltwalk {

/// Of the open session; empty while there is none.
std::string bookmark_of(const View&);
/// Puts the view of the session that was just opened where the bookmark says. What it does not say, or says wrongly (a
/// step that the plan does not have), stays as it is. False when the text is no bookmark. The start card comes up
/// again: who comes back looks at stands, chocks and props first.
bool take_bookmark(View&, std::string_view);
/// Whether that room was open then; the window enters it.
bool was_marking(std::string_view);

/// What belongs to the screen and not to a map: light, reading distance, the ruler's correction.
std::string settings_of(const View&, const Screen&, bool corrected);
bool take_settings(View&, Screen&, bool& corrected, std::string_view);

} // namespace boltwalk
