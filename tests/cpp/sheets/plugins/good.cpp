#include "stopspan/exporter.hpp"

namespace {

constexpr std::array<std::string_view, 2> suffixes_of_titles{"titles", "toc"};

class SheetTitles final : public stopspan::Exporter {
public:
    std::string_view name() const noexcept override { return "titles"; }
    std::span<const std::string_view> suffixes() const noexcept override { return suffixes_of_titles; }
    void write(const stopspan::Drawing &drawing, stopspan::ByteSink &out) const override {
        for (const auto &sheet : drawing.sheets)
            out.write(sheet.number + " " + sheet.title + "\n");
    }
};

// The circuit, from nothing but the drawing.
class Terminals final : public stopspan::Exporter {
public:
    std::string_view name() const noexcept override { return "terminals"; }
    std::span<const std::string_view> suffixes() const noexcept override { return {}; }
    void write(const stopspan::Drawing &drawing, stopspan::ByteSink &out) const override {
        for (const auto &device : drawing.netlist)
            for (const auto &[terminal, net] : device.terminals)
                out.write(device.kind + " " + device.designation + ":" + terminal + " " + net + "\n");
    }
};

// Its name is not one a file could have: refused, without harm to the others.
class BadName final : public stopspan::Exporter {
public:
    std::string_view name() const noexcept override { return "A/B"; }
    std::span<const std::string_view> suffixes() const noexcept override { return {}; }
    void write(const stopspan::Drawing &, stopspan::ByteSink &) const override {}
};

} // namespace

STOPSPAN_EXPORTERS(SheetTitles, BadName, Terminals)
