#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <map>
#include <string_view>

#include <arpa/inet.h>
#include <fmt/format.h>
#include <ifaddrs.h>
#include <microhttpd.h>
#include <net/if.h>
#include <netinet/in.h>
#include <sys/random.h>
#include <sys/socket.h>
#include <unistd.h>

#include "viewer/serve/serve.hpp"

namespace boltwalk {

namespace {

/// What the page needs, and nothing else: its own scripts and styles by their mark, WebAssembly, a worker made of
/// itself.
constexpr const char* policy =
    "default-src 'none'; script-src 'nonce-{0}' 'wasm-unsafe-eval'; style-src 'nonce-{0}'; "
    "img-src 'self' data:; connect-src 'self'; manifest-src 'self'; worker-src 'self' blob:; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
constexpr unsigned connections_at_once = 32;
constexpr unsigned seconds_of_silence = 30;
constexpr std::size_t most_of_a_request = 16384; ///< its line and its headings, in bytes

/// Of this machine, as dotted decimals; none of loopback.
std::vector<std::string> own_addresses() {
    std::vector<std::string> all;
    ifaddrs* first = nullptr;
    if (getifaddrs(&first) != 0)
        return all;
    for (const ifaddrs* one = first; one != nullptr; one = one->ifa_next) {
        if (one->ifa_addr == nullptr || one->ifa_addr->sa_family != AF_INET || (one->ifa_flags & IFF_UP) == 0 ||
            (one->ifa_flags & IFF_LOOPBACK) != 0)
            continue;
        sockaddr_in at{};
        std::memcpy(&at, one->ifa_addr, sizeof at);
        std::array<char, INET_ADDRSTRLEN> text{};
        if (inet_ntop(AF_INET, &at.sin_addr, text.data(), text.size()) != nullptr)
            all.emplace_back(text.data());
    }
    freeifaddrs(first);
    return all;
}

/// Takes as long whatever the first difference: how long an answer took tells nothing of the code.
bool same(std::string_view a, std::string_view b) {
    unsigned char differs = a.size() == b.size() ? 0 : 1;
    for (std::size_t i = 0; i < std::min(a.size(), b.size()); ++i)
        differs |= static_cast<unsigned char>(a[i] ^ b[i]);
    return differs == 0;
}

/// `lasts`: the bytes stay where they are for as long as the server runs.
MHD_Result answer(MHD_Connection* connection, unsigned status, std::string_view type, std::string_view bytes,
                  std::string_view code, bool lasts) {
    // The C library takes no const; of what stays it only reads.
    MHD_Response* response = MHD_create_response_from_buffer(bytes.size(), const_cast<char*>(bytes.data()),
                                                             lasts ? MHD_RESPMEM_PERSISTENT : MHD_RESPMEM_MUST_COPY);
    if (response == nullptr)
        return MHD_NO;
    const auto heading = [response](const char* name, const std::string& value) {
        MHD_add_response_header(response, name, value.c_str());
    };
    heading("Content-Type", std::string(type));
    heading("Content-Security-Policy", fmt::format(fmt::runtime(policy), code));
    heading("Referrer-Policy", "no-referrer");
    heading("X-Content-Type-Options", "nosniff");
    heading("Cross-Origin-Resource-Policy", "same-origin");
    heading("Cross-Origin-Opener-Policy", "same-origin");
    heading("Cache-Control", "private, no-cache");
    if (status == MHD_HTTP_METHOD_NOT_ALLOWED)
        heading("Allow", "GET, HEAD");
    if (status != MHD_HTTP_OK)
        heading("Connection", "close"); // whatever else was sent along is not read as a next request
    const MHD_Result queued = MHD_queue_response(connection, status, response);
    MHD_destroy_response(response);
    return queued;
}

MHD_Result refuse(MHD_Connection* connection, unsigned status, std::string_view why) {
    return answer(connection, status, "text/plain; charset=utf-8", std::string(why) + "\n", "none", false);
}

struct Headings {
    std::string host;
    int hosts = 0;
    bool has_body = false;
};

MHD_Result look_at(void* into, MHD_ValueKind, const char* name, const char* value) {
    auto& seen = *static_cast<Headings*>(into);
    const std::string_view of(value == nullptr ? "" : value);
    const auto is = [name](const char* other) { return strcasecmp(name, other) == 0; };
    if (is("Host")) {
        seen.host = of;
        ++seen.hosts;
    }
    seen.has_body = seen.has_body || is("Transfer-Encoding") || (is("Content-Length") && of != "0");
    return MHD_YES;
}

/// Why nothing can listen there: what it was is lost where libmicrohttpd closes its socket before it says no (1.0). 0:
/// it can.
int why_not(const sockaddr_in& at) {
    const int socket = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    if (socket < 0)
        return errno;
    const int why = ::bind(socket, reinterpret_cast<const sockaddr*>(&at), sizeof at) == 0 ? 0 : errno;
    ::close(socket);
    return why;
}

} // namespace

tl::expected<std::string, std::string> new_code() {
    std::array<unsigned char, 16> bytes{};
    if (getrandom(bytes.data(), bytes.size(), 0) != static_cast<ssize_t>(bytes.size()))
        return tl::unexpected(fmt::format("this system gives no random numbers ({})", std::strerror(errno)));
    std::string text;
    for (const unsigned char byte : bytes)
        text += fmt::format("{:02x}", byte);
    return text;
}

struct Server::Inside {
    std::string prefix; ///< "/CODE/"
    std::map<std::string, Offered, std::less<>> files;
    std::vector<std::string> hosts, addresses;
    MHD_Daemon* daemon = nullptr;

    MHD_Result ask(MHD_Connection* connection, std::string_view url, std::string_view method) const {
        Headings seen;
        MHD_get_connection_values(connection, MHD_HEADER_KIND, look_at, &seen);
        if (method != MHD_HTTP_METHOD_GET && method != MHD_HTTP_METHOD_HEAD)
            return refuse(connection, MHD_HTTP_METHOD_NOT_ALLOWED, "This page is only read.");
        if (seen.has_body)
            return refuse(connection, MHD_HTTP_CONTENT_TOO_LARGE, "Nothing is taken here.");
        if (seen.hosts != 1 || std::find(hosts.begin(), hosts.end(), seen.host) == hosts.end())
            return refuse(connection, MHD_HTTP_MISDIRECTED_REQUEST, "No such host here.");
        if (url.size() < prefix.size() || !same(url.substr(0, prefix.size()), prefix))
            return refuse(connection, MHD_HTTP_NOT_FOUND, "Not here. The whole address is where boltwalk serve runs.");
        const auto found = files.find(url.substr(prefix.size()));
        if (found == files.end())
            return refuse(connection, MHD_HTTP_NOT_FOUND, "Not here.");
        const Offered& file = found->second;
        if (!file.path.empty())
            return answer(connection, MHD_HTTP_OK, file.type, file.bytes, "none", true);
        const auto mark = new_code();
        if (!mark)
            return refuse(connection, MHD_HTTP_INTERNAL_SERVER_ERROR, mark.error());
        std::string page = file.bytes;
        const std::string put = fmt::format("nonce=\"{}\"", *mark);
        for (std::size_t at = 0; (at = page.find(nonce_place, at)) != std::string::npos; at += put.size())
            page.replace(at, nonce_place.size(), put);
        return answer(connection, MHD_HTTP_OK, file.type, page, *mark, false);
    }

    static MHD_Result handle(void* self, MHD_Connection* connection, const char* url, const char* method, const char*,
                             const char*, size_t*, void**) {
        // Queued at the first call, when only the headings were read: a body is never waited for.
        return static_cast<const Inside*>(self)->ask(connection, url, method);
    }

    // As it was sent: a path is on the list letter for letter, or it is not there.
    static std::size_t unchanged(void*, MHD_Connection*, char* text) { return std::strlen(text); }

    ~Inside() {
        if (daemon != nullptr)
            MHD_stop_daemon(daemon);
    }
    Inside() = default;
    Inside(const Inside&) = delete;
    Inside& operator=(const Inside&) = delete;
};

Server::Server(std::unique_ptr<Inside> inside) : inside_(std::move(inside)) {}
Server::Server(Server&&) noexcept = default;
Server& Server::operator=(Server&&) noexcept = default;
Server::~Server() = default;

const std::vector<std::string>& Server::addresses() const {
    return inside_->addresses;
}

tl::expected<Server, std::string> Server::start(Serving serving) {
    auto inside = std::make_unique<Inside>();
    inside->prefix = "/" + serving.code + "/";
    for (Offered& file : serving.files)
        inside->files.emplace(file.path, std::move(file));

    std::vector<std::string> names = own_addresses();
    if (serving.lan && names.empty())
        return tl::unexpected<std::string>(
            "this machine is in no network: join the one that the tablet is in, or carry the "
            "page over as one file: boltwalk page MAP -o F.html");
    if (!serving.lan)
        names = {"127.0.0.1", "localhost"};
    for (const std::string& name : names) {
        inside->hosts.push_back(fmt::format("{}:{}", name, serving.port));
        if (serving.port == 80)
            inside->hosts.push_back(name); // a browser leaves that port out
        inside->addresses.push_back(fmt::format("http://{}{}", inside->hosts.back(), inside->prefix));
    }

    sockaddr_in at{};
    at.sin_family = AF_INET;
    at.sin_port = htons(serving.port);
    at.sin_addr.s_addr = htonl(serving.lan ? INADDR_ANY : INADDR_LOOPBACK);
    inside->daemon = MHD_start_daemon(
        MHD_USE_INTERNAL_POLLING_THREAD | MHD_USE_AUTO, serving.port, nullptr, nullptr, &Inside::handle, inside.get(),
        MHD_OPTION_SOCK_ADDR, &at, MHD_OPTION_CONNECTION_LIMIT, connections_at_once, MHD_OPTION_CONNECTION_TIMEOUT,
        seconds_of_silence, MHD_OPTION_CONNECTION_MEMORY_LIMIT, most_of_a_request, MHD_OPTION_UNESCAPE_CALLBACK,
        &Inside::unchanged, nullptr, MHD_OPTION_STRICT_FOR_CLIENT, 1, MHD_OPTION_END);
    if (inside->daemon == nullptr) {
        const int why = why_not(at);
        return tl::unexpected(fmt::format("port {} cannot be served on ({}). {}", serving.port,
                                          why == 0 ? "the server does not start" : std::strerror(why),
                                          why == EACCES ? "Take one above 1023: --port N"
                                                        : "End what serves there (perhaps another boltwalk serve), or "
                                                          "take another: --port N; a walk kept under one port is not "
                                                          "found under another"));
    }
    return Server(std::move(inside));
}

} // namespace boltwalk
