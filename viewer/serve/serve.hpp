// A few files over HTTP, out of memory: nothing on the disk can be asked for. Made to hand the page to a tablet.
//
// Who may ask: only whoever knows the code in the address, under a host name that is this machine's (so that a page of
// somebody else's, whose name was pointed here, gets nothing). GET and HEAD only; a request that brings a body is
// refused before the body is read. What comes back allows the page its own scripts, and no other.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include <tl/expected.hpp>

namespace boltwalk {

/// One file of what is offered.
struct Offered {
    std::string path; ///< behind the code; empty: the page itself
    std::string type; ///< its media type
    std::string bytes;
};

/// In a page, this is where the mark of its own scripts and styles goes, another one for every answer
/// (Content Security Policy Level 3, section 4.1).
constexpr std::string_view nonce_place = "nonce=\"none\"";

struct Serving {
    std::vector<Offered> files;
    std::uint16_t port = 7430; ///< fixed: the walk is kept by the browser under host and port
    bool lan = false;          ///< false: only this machine can reach it
    std::string code;          ///< of `new_code()`
};

/// 128 bits from the system's random source, as 32 hexadecimal digits.
tl::expected<std::string, std::string> new_code();

/// Serves until it goes out of scope.
class Server {
public:
    /// Error: a sentence with the remedy (the port is taken, no network to serve to).
    static tl::expected<Server, std::string> start(Serving);
    Server(Server&&) noexcept;
    Server& operator=(Server&&) noexcept;
    ~Server();

    /// Whole addresses with the code, the one to take first: loopback's, or with `lan` one for each of the machine's
    /// own IPv4 addresses.
    const std::vector<std::string>& addresses() const;

private:
    struct Inside;
    explicit Server(std::unique_ptr<Inside>);
    std::unique_ptr<Inside> inside_;
};

} // namespace boltwalk
