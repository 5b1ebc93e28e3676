#include "markup.hpp"

#include "stopspan/exporter.hpp"

#include <map>
#include <set>
#include <unordered_map>

namespace stopspan::graphml {
namespace {

using text_out::Markup;

// The circuit as a graph: a node for each device and each net, an edge for each terminal. Names may hold what an
// identifier may not, so they are data; so are terminals, since most readers leave ports out.
class Document {
public:
    Document(const Drawing &drawing, ByteSink &sink) : drawing_(drawing), out_(sink) {
        std::set<std::string_view> names;
        for (const WiredDevice &device : drawing.netlist)
            for (const auto &[name, value] : device.parameters)
                names.insert(name);
        for (const std::string_view name : names)
            parameter_keys_.emplace(name, "p" + std::to_string(parameter_keys_.size()));
    }

    void write() {
        out_.raw("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
        out_.open("graphml").text("xmlns", "http://graphml.graphdrawing.org/xmlns").close_start();
        key("what", "node", "what"); // "device" or "net"
        key("label", "node", "label");
        key("kind", "node", "kind");
        for (const auto &[name, id] : parameter_keys_)
            key(id, "node", name);
        key("terminal", "edge", "terminal");
        out_.open("graph").text("id", "circuit").text("edgedefault", "undirected").close_start();
        out_.open("desc").content(drawing_.name).close("desc");
        devices();
        terminals();
        out_.close("graph");
        out_.close("graphml");
    }

private:
    void key(std::string_view id, std::string_view of, std::string_view name) {
        out_.open("key").text("id", id).text("for", of).text("attr.name", name).text("attr.type", "string");
        out_.close_empty();
    }

    void data(std::string_view key, std::string_view value) {
        out_.open("data").text("key", key).content(value).close("data");
    }

    void devices() {
        for (std::size_t i = 0; i < drawing_.netlist.size(); ++i) {
            const WiredDevice &device = drawing_.netlist[i];
            out_.open("node").text("id", "d" + std::to_string(i)).close_start();
            data("what", "device");
            data("label", device.designation);
            data("kind", device.kind);
            for (const auto &[name, value] : device.parameters)
                data(parameter_keys_.at(name), value);
            out_.close("node");
        }
    }

    // A net's node stands before the first edge to it, numbered by first use.
    void terminals() {
        std::unordered_map<std::string_view, std::string> nets;
        std::size_t edges = 0;
        for (std::size_t i = 0; i < drawing_.netlist.size(); ++i)
            for (const auto &[terminal, net] : drawing_.netlist[i].terminals) {
                const auto [node, fresh] = nets.emplace(net, "n" + std::to_string(nets.size()));
                if (fresh) {
                    out_.open("node").text("id", node->second).close_start();
                    data("what", "net");
                    data("label", net);
                    out_.close("node");
                }
                out_.open("edge").text("id", "e" + std::to_string(edges++));
                out_.text("source", "d" + std::to_string(i)).text("target", node->second).close_start();
                data("terminal", terminal);
                out_.close("edge");
            }
    }

    const Drawing &drawing_;
    Markup out_;
    std::map<std::string_view, std::string> parameter_keys_;
};

constexpr std::array<std::string_view, 1> suffix{"graphml"};

class GraphmlExporter final : public Exporter {
public:
    std::string_view name() const noexcept override { return "graphml"; }
    std::span<const std::string_view> suffixes() const noexcept override { return suffix; }
    void write(const Drawing &drawing, ByteSink &out) const override { Document(drawing, out).write(); }
};

} // namespace
} // namespace stopspan::graphml

STOPSPAN_EXPORTERS(stopspan::graphml::GraphmlExporter)
