// Dear ImGui's triangles on WebGL. Its own back end asks OpenGL for some twenty values a frame, to put them back: in a
// browser each such question waits until the GPU has drawn everything before it. Measured on the large demo map with
// software drawing: 95 % of the page's time, up to 4 s in one frame.
#pragma once

namespace boltwalk {

/// In the context that is current. Empty, or what the browser refuses.
const char* start_showing();
/// What was made in a context that is gone is forgotten; then start_showing() again.
void stop_showing();
/// They are where they are drawn from; else show_letters() is due, before Dear ImGui begins a frame.
bool has_letters();

} // namespace boltwalk
