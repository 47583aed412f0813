// How soon the window's first picture is there. Run with no argument it hands over to first_picture.py, which takes
// turns between the program and this one run with --bare: a GLFW window and nothing else that asks for the same
// context, clears it and shows it, then says when (the steady clock, in seconds) and ends.
#define GLFW_INCLUDE_NONE
#include <GLFW/glfw3.h>

#include <chrono>
#include <cstdio>
#include <cstring>
#include <string>
#include <unistd.h>

int main(int argc, char** argv) {
    if (argc < 2 || std::strcmp(argv[1], "--bare") != 0) {
        const std::string source = BOLTWALK_SOURCE_DIR, self = argv[0];
        const auto slash = self.find_last_of('/');
        const std::string program =
            (slash == std::string::npos ? std::string() : self.substr(0, slash + 1)) + "boltwalk";
        const std::string script = source + "/tests/bench/first_picture.py", map = source + "/assets/transfer_box.glb";
        execl("/usr/bin/python3", "python3", "-B", script.c_str(), program.c_str(), self.c_str(), map.c_str(), nullptr);
        std::perror("/usr/bin/python3");
        return 2;
    }
    if (glfwInit() == GLFW_FALSE)
        return 2;
    glfwWindowHint(GLFW_CONTEXT_VERSION_MAJOR, 3);
    glfwWindowHint(GLFW_CONTEXT_VERSION_MINOR, 3);
    glfwWindowHint(GLFW_OPENGL_PROFILE, GLFW_OPENGL_CORE_PROFILE);
    glfwWindowHint(GLFW_OPENGL_FORWARD_COMPAT, GLFW_TRUE);
    GLFWwindow* window = glfwCreateWindow(1280, 800, "bare", nullptr, nullptr);
    if (window == nullptr)
        return 2;
    glfwMakeContextCurrent(window);
    constexpr unsigned COLOUR_BUFFER_BIT = 0x4000; // GL_COLOR_BUFFER_BIT
    using Clear = void (*)(unsigned);
    using Finish = void (*)();
    const auto clear = reinterpret_cast<Clear>(glfwGetProcAddress("glClear"));
    const auto finish = reinterpret_cast<Finish>(glfwGetProcAddress("glFinish"));
    if (clear == nullptr || finish == nullptr)
        return 2;
    clear(COLOUR_BUFFER_BIT);
    glfwSwapBuffers(window);
    finish();
    const double now_s = std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
    std::printf("%.6f\n", now_s);
    std::fflush(stdout);
    glfwDestroyWindow(window);
    glfwTerminate();
    return 0;
}
