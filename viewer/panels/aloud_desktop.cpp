// The desktop's voice: spd-say, which comes with Debian's speech-dispatcher. A program of its own: nothing of it is
// linked, it is there or it is not, and this window waits for nothing.
#include <fcntl.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdlib>
#include <string>
#include <vector>

#include "viewer/panels/aloud.hpp"

extern char** environ;

namespace boltwalk {

namespace {

std::vector<pid_t> begun; ///< and not seen to end yet

void reap() {
    std::erase_if(begun, [](pid_t pid) { return waitpid(pid, nullptr, WNOHANG) != 0; });
}

bool is_on_path(const std::string& program) {
    const char* path = std::getenv("PATH");
    const std::string all = path != nullptr ? path : "";
    for (std::size_t from = 0; from <= all.size();) {
        const std::size_t end = std::min(all.find(':', from), all.size());
        if (end > from && access((all.substr(from, end - from) + "/" + program).c_str(), X_OK) == 0)
            return true;
        from = end + 1;
    }
    return false;
}

void start(std::vector<std::string> words) {
    std::vector<char*> arguments;
    for (std::string& word : words)
        arguments.push_back(word.data());
    arguments.push_back(nullptr);
    posix_spawn_file_actions_t files;
    posix_spawn_file_actions_init(&files);
    for (const int file : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO})
        posix_spawn_file_actions_addopen(&files, file, "/dev/null", O_RDWR, 0);
    pid_t pid = 0;
    if (posix_spawnp(&pid, arguments.front(), &files, nullptr, arguments.data(), environ) == 0)
        begun.push_back(pid);
    posix_spawn_file_actions_destroy(&files);
}

} // namespace

std::string no_voice() {
    static const bool there = is_on_path("spd-say");
    return there ? "" : "There is no speech service on this computer: the package speech-dispatcher brings one.";
}

void say(const std::string& text) {
    if (!no_voice().empty())
        return;
    reap();
    // "important" takes the place of what is being said.
    if (text.empty())
        start({"spd-say", "--cancel"});
    else
        start({"spd-say", "--application-name", "boltwalk", "--language", "en", "--priority", "important", "--", text});
}

} // namespace boltwalk
