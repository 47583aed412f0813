// A step read out: the sentence, and who says it. Off until somebody switches it on.
#pragma once

#include <string>

#include "viewer/panels/view.hpp"

namespace boltwalk {

/// "Step 4 of 15. Take out: 2 bolts. 2 times M6 by 16, hex 10. Caution: hot." Signs that a voice skips or spells out
/// are written as words.
std::string step_aloud(const View&);

// Of the platform: spd-say of Speech Dispatcher on a desktop, the browser's speech on the page.

/// Why nothing can be read out here, and what would mend it; empty: it can.
std::string no_voice();
/// In place of what is still being said; empty: hush. Does not wait.
void say(const std::string&);

/// What was read out last, so that nothing is said twice.
class Reader {
public:
    /// Once a frame: says the step when it is another one, or was just switched on.
    void follow(const View&);

private:
    std::string said_;
};

} // namespace boltwalk
