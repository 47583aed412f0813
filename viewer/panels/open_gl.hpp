// OpenGL as the panels see it: one framebuffer, one texture, one clear.
#pragma once

#ifdef __EMSCRIPTEN__
#include <GLES3/gl3.h>
#else
#include <epoxy/gl.h>
#endif
