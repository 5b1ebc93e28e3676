// The circuit as plain text: a line for each net, with the terminals on it.
#include <stopspan/exporter.hpp>

#include <map>

namespace {

constexpr std::array<std::string_view, 1> suffix{"net"};

class NetlistExporter final : public stopspan::Exporter {
public:
    std::string_view name() const noexcept override { return "netlist"; }
    std::span<const std::string_view> suffixes() const noexcept override { return suffix; }

    void write(const stopspan::Drawing &drawing, stopspan::ByteSink &out) const override {
        std::map<std::string, std::string> terminals; // in order of the nets' names: the same circuit, the same bytes
        for (const auto &device : drawing.netlist)
            for (const auto &[terminal, net] : device.terminals)
                terminals[net] += " " + device.designation + ":" + terminal;
        for (const auto &[net, on_it] : terminals)
            out.write(net + on_it + "\n");
    }
};

} // namespace

STOPSPAN_EXPORTERS(NetlistExporter)
