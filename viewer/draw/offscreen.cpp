// A context without a screen. Tried in turn: EGL's surfaceless platform (Mesa, also its software renderer), the first
// device that EGL knows (a graphics card without a screen), the default display.
#ifndef __EMSCRIPTEN__

#include <array>
#include <cstring>

#include <epoxy/egl.h>
#include <epoxy/gl.h>
#include <fmt/format.h>

#include "viewer/draw/draw.hpp"

namespace boltwalk {

struct Offscreen {
    EGLDisplay display = EGL_NO_DISPLAY;
    EGLContext context = EGL_NO_CONTEXT;
    EGLSurface surface = EGL_NO_SURFACE;
};

void OffscreenCloser::operator()(Offscreen* offscreen) const {
    eglMakeCurrent(offscreen->display, EGL_NO_SURFACE, EGL_NO_SURFACE, EGL_NO_CONTEXT);
    if (offscreen->surface != EGL_NO_SURFACE)
        eglDestroySurface(offscreen->display, offscreen->surface);
    if (offscreen->context != EGL_NO_CONTEXT)
        eglDestroyContext(offscreen->display, offscreen->context);
    // The display is shared by the whole process: another context may still draw on it, so it is not terminated.
    delete offscreen;
}

namespace {

bool has(const char* extensions, const char* name) {
    return extensions != nullptr && std::strstr(extensions, name) != nullptr;
}

EGLDisplay surfaceless() {
    const char* client = eglQueryString(EGL_NO_DISPLAY, EGL_EXTENSIONS);
    if (!has(client, "EGL_MESA_platform_surfaceless") || !has(client, "EGL_EXT_platform_base"))
        return EGL_NO_DISPLAY;
    return eglGetPlatformDisplayEXT(EGL_PLATFORM_SURFACELESS_MESA, EGL_DEFAULT_DISPLAY, nullptr);
}

EGLDisplay first_device() {
    const char* client = eglQueryString(EGL_NO_DISPLAY, EGL_EXTENSIONS);
    if (!has(client, "EGL_EXT_platform_device") || !has(client, "EGL_EXT_device_enumeration"))
        return EGL_NO_DISPLAY;
    EGLDeviceEXT device = nullptr;
    EGLint count = 0;
    if (eglQueryDevicesEXT(1, &device, &count) == EGL_FALSE || count < 1)
        return EGL_NO_DISPLAY;
    return eglGetPlatformDisplayEXT(EGL_PLATFORM_DEVICE_EXT, device, nullptr);
}

/// Empty when the context is current, else what failed.
std::string start(Offscreen& offscreen, EGLDisplay display) {
    if (display == EGL_NO_DISPLAY)
        return "not there";
    if (eglInitialize(display, nullptr, nullptr) == EGL_FALSE)
        return fmt::format("cannot be initialised (EGL error {:#x})", eglGetError());
    offscreen.display = display;
    if (eglBindAPI(EGL_OPENGL_API) == EGL_FALSE)
        return "has no desktop OpenGL";
    const bool no_surface = has(eglQueryString(display, EGL_EXTENSIONS), "EGL_KHR_surfaceless_context");
    const std::array<EGLint, 5> wanted{EGL_SURFACE_TYPE, no_surface ? 0 : EGL_PBUFFER_BIT, EGL_RENDERABLE_TYPE,
                                       EGL_OPENGL_BIT, EGL_NONE};
    EGLConfig config = nullptr;
    EGLint count = 0;
    if (eglChooseConfig(display, wanted.data(), &config, 1, &count) == EGL_FALSE || count < 1)
        return "has no configuration to draw with OpenGL";
    const std::array<EGLint, 7> version{
        EGL_CONTEXT_MAJOR_VERSION,           3,       EGL_CONTEXT_MINOR_VERSION, 3, EGL_CONTEXT_OPENGL_PROFILE_MASK,
        EGL_CONTEXT_OPENGL_CORE_PROFILE_BIT, EGL_NONE};
    offscreen.context = eglCreateContext(display, config, EGL_NO_CONTEXT, version.data());
    if (offscreen.context == EGL_NO_CONTEXT)
        return fmt::format("gives no OpenGL 3.3 core context (EGL error {:#x})", eglGetError());
    if (!no_surface) {
        const std::array<EGLint, 5> size{EGL_WIDTH, 16, EGL_HEIGHT, 16, EGL_NONE};
        offscreen.surface = eglCreatePbufferSurface(display, config, size.data());
    }
    if (eglMakeCurrent(display, offscreen.surface, offscreen.surface, offscreen.context) == EGL_FALSE)
        return fmt::format("does not make its context current (EGL error {:#x})", eglGetError());
    return {};
}

} // namespace

tl::expected<OffscreenContext, std::string> open_offscreen() {
    if (!epoxy_has_egl()) // else the loader would end the program
        return tl::unexpected(
            std::string("no OpenGL to draw with: EGL's library is not there. Install package libegl1 "
                        "and Mesa's drivers (libegl-mesa0 and libgl1-mesa-dri on Debian and Ubuntu)."));
    struct Platform {
        const char* name;
        EGLDisplay (*display)();
    };
    const std::array<Platform, 3> platforms{
        {{"EGL's surfaceless platform", surfaceless},
         {"EGL's first device", first_device},
         {"EGL's default display", [] { return eglGetDisplay(EGL_DEFAULT_DISPLAY); }}}};
    std::string tried;
    for (const Platform& platform : platforms) {
        OffscreenContext offscreen(new Offscreen);
        const std::string failure = start(*offscreen, platform.display());
        if (failure.empty())
            return offscreen;
        tried += fmt::format("{}{} {}", tried.empty() ? "" : "; ", platform.name, failure);
        if (offscreen->display == EGL_NO_DISPLAY)
            delete offscreen.release(); // nothing to close
    }
    return tl::unexpected(fmt::format("no OpenGL to draw with ({}). Install Mesa's drivers (packages libegl-mesa0 and "
                                      "libgl1-mesa-dri on Debian and Ubuntu) or a graphics driver with EGL.",
                                      tried));
}

} // namespace boltwalk

#endif
