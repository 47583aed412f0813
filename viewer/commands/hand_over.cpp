#include "viewer/commands/hand_over.hpp"

#include <optional>
#include <utility>

#include "viewer/commands/carried.hpp"
#include "viewer/serve/serve.hpp"

namespace boltwalk {

namespace {

class ByServer : public HandOver {
public:
    ByServer(std::string folder, std::uint16_t port) : folder_(std::move(folder)), port_(port) {}

    std::string start(const std::string& map_path, bool network) override {
        stop();
        const auto code = new_code();
        if (!code)
            return code.error();
        auto files = offered_of(map_path, folder_.empty() ? page_folder() : folder_, *code);
        if (!files)
            return files.error();
        auto server = Server::start({std::move(*files), port_, network, *code});
        if (!server)
            return server.error();
        server_ = std::move(*server);
        addresses_ = server_->addresses();
        code_ = qr_code(addresses_.front());
        network_ = network;
        return {};
    }
    void stop() override {
        server_.reset();
        addresses_.clear();
    }
    const std::vector<std::string>& addresses() const override { return addresses_; }
    const QrCode& code() const override { return code_; }
    bool in_network() const override { return network_; }

private:
    std::string folder_;
    std::uint16_t port_;
    std::optional<Server> server_;
    std::vector<std::string> addresses_;
    QrCode code_;
    bool network_ = false;
};

} // namespace

std::unique_ptr<HandOver> hand_over_by_server(std::string folder, std::uint16_t port) {
    return std::make_unique<ByServer>(std::move(folder), port);
}

} // namespace boltwalk
