// Typing on a page: the browser's own input element, laid over the field while it is typed into, so that a tablet
// brings its keyboard. panels.hpp's text_field() and draw_open_row() are defined here.
#pragma once

namespace boltwalk {

/// After a frame: takes the element away when its field was not drawn.
void close_field_if_gone();

} // namespace boltwalk
