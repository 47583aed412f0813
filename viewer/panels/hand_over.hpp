// Handing the page with the open map to a tablet, out of the window. Who starts the window brings what serves it
// (viewer/commands); on a page there is none.
#pragma once

#include <string>
#include <vector>

#include "viewer/serve/qr.hpp"

namespace boltwalk {

class HandOver {
public:
    HandOver() = default;
    virtual ~HandOver() = default;
    HandOver(const HandOver&) = delete;
    HandOver& operator=(const HandOver&) = delete;

    /// The map as it lies there now; to this machine alone, or to the network that it is in. Empty, or a sentence with
    /// the remedy: why it cannot be.
    virtual std::string start(const std::string& map_path, bool network) = 0;
    virtual void stop() = 0;
    virtual const std::vector<std::string>& addresses() const = 0; ///< the one to take first; none: nothing is served
    virtual const QrCode& code() const = 0;                        ///< of the first
    virtual bool in_network() const = 0;
};

} // namespace boltwalk
