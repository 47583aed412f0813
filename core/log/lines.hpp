// Entries as a person or a script writes them, one a line:
//
//   did out 12                         step 12 of the order down, all of it; what is so already is left out
//   did out 12 but skid_bolt_3         all but that one (several: but A but B)
//   did back 30 at 22 N·m              a step of the way back, with the reading; the first one turns the walk round
//   did skid_bolt_3                    what comes next for it: taken out, or started, then tightened
//   did skid_bolts                     the same for each of a group
//   did tighten skid_bolt_3 at 22 N·m pass 1 of 2
//   did start skid_bolt_3 with new     ... with a new one; with NAME: with the one that was found in NAME
//   did set-vehicle stands; chocked
//   found sheared skid_bolt_3: the head came off
//   found substitute skid_bolt_3 as M8 x 30, hex, 8.8
//   in-the-way: a cable tie round the hose             in-the-way NODE: words, for a part of the model
//   moved skid_bolt_3 to scrapped      (tray, scrapped, missing)
//   settled 14 repair-hole             what followed from entry 14; without the last word, all of it
//   ticked tool: hex 14                a tool that is there, a part that was bought
//   way-back, way-out                  the way back begins; out again
//   noted skid_bolt_3: words           or noted: words
//   struck 14: the wrong one           entry 14 counts as never made
//   closed: why it may be, where something is open
//
// A name with spaces, or that is one of the words above, stands in double quotes. What follows the first ": " are
// words. A line that cannot be read is a mistake, and nothing of it is entered.
#pragma once

#include <string_view>
#include <vector>

#include "core/log/log.hpp"

namespace boltwalk {

/// What a line may speak of. `now` is the fold of `entries`; the plans are those that the person sees.
struct LineContext {
    const Job& job;
    const Plan& strip;
    const Plan& refit;
    const std::vector<Entry>& entries;
    const JobNow& now;
};

/// The entries that a line stands for, to be added as one. An empty line, or one that begins with "#": none.
Reading<std::vector<Entry>> read_line(const LineContext&, std::string_view line);

} // namespace boltwalk
