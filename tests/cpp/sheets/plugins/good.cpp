#include "stopspan/exporter.hpp"

namespace {

class SheetTitles final : public stopspan::Exporter {
public:
    std::string_view name() const noexcept override { return "titles"; }
    void write(const stopspan::Drawing &drawing, stopspan::ByteSink &out) const override {
        for (const auto &sheet : drawing.sheets)
            out.write(sheet.number + " " + sheet.title + "\n");
    }
};

} // namespace

STOPSPAN_EXPORTER(SheetTitles)
