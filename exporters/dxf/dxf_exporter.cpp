#include "entities.hpp"
#include "structure.hpp"

#include <algorithm>

namespace stopspan::dxf {
namespace {

// Sheets stand in model space in rows of ten, the first at the origin, with room between.
constexpr double sheet_step_x_mm = 450, sheet_step_y_mm = 330;
constexpr std::size_t sheets_in_row = 10;

Point sheet_origin(std::size_t i) {
    return {sheet_step_x_mm * static_cast<double>(i % sheets_in_row),
            -sheet_step_y_mm * static_cast<double>(i / sheets_in_row)};
}

Extents extents_of(std::size_t sheets) {
    const std::size_t last = std::max<std::size_t>(sheets, 1) - 1;
    return {sheet_step_x_mm * static_cast<double>(std::min(last, sheets_in_row - 1)) + 420,
            sheet_step_y_mm * static_cast<double>(last / sheets_in_row) + 297};
}

struct Counting final : ByteSink {
    void write(std::string_view) override {}
};

class Document {
public:
    explicit Document(const Drawing &drawing) : drawing_(drawing), extents_(extents_of(drawing.sheets.size())) {}

    // The header names the first free handle, so the file is written twice: once to count them.
    void write(ByteSink &sink) const {
        Counting nowhere;
        GroupWriter counting(nowhere);
        body(counting, 0);
        GroupWriter out(sink);
        body(out, counting.next_handle());
    }

private:
    void body(GroupWriter &out, std::uint32_t handle_seed) const {
        write_header(out, extents_, handle_seed);
        std::vector<std::pair<std::string, std::uint32_t>> records;
        for (const Symbol &symbol : drawing_.symbols)
            records.emplace_back(symbol.name, out.new_handle());
        write_tables(out, extents_, records);
        blocks(out, records);
        entities(out);
        write_objects(out, extents_);
        out.word(0, "EOF");
    }

    void blocks(GroupWriter &out, const std::vector<std::pair<std::string, std::uint32_t>> &records) const {
        out.word(0, "SECTION").word(2, "BLOCKS");
        write_block_begin(out, "*Model_Space", model_space, model_block, false);
        write_block_end(out, model_space, model_end);
        write_block_begin(out, "*Paper_Space", paper_space, paper_block, false);
        write_block_end(out, paper_space, paper_end);
        for (std::size_t i = 0; i < records.size(); ++i) {
            const Symbol &symbol = drawing_.symbols[i];
            const std::uint32_t record = records[i].second;
            write_block_begin(out, symbol.name, record, out.new_handle(), !symbol.attributes.empty());
            EntityWriter shape(out, record);
            for (const Primitive &primitive : symbol.shape)
                shape.write(primitive);
            for (const std::string &tag : symbol.attributes)
                shape.attribute_definition(symbol, tag);
            write_block_end(out, record, out.new_handle());
        }
        out.word(0, "ENDSEC");
    }

    void entities(GroupWriter &out) const {
        out.word(0, "SECTION").word(2, "ENTITIES");
        for (std::size_t i = 0; i < drawing_.sheets.size(); ++i) {
            EntityWriter sheet(out, model_space, sheet_origin(i));
            for (const Primitive &primitive : drawing_.sheets[i].primitives)
                sheet.write(primitive);
            for (const Insert &insert : drawing_.sheets[i].inserts)
                sheet.write(insert, symbol(insert.symbol));
        }
        out.word(0, "ENDSEC");
    }

    const Symbol &symbol(const std::string &name) const {
        return *std::lower_bound(drawing_.symbols.begin(), drawing_.symbols.end(), name,
                                 [](const Symbol &each, const std::string &wanted) { return each.name < wanted; });
    }

    const Drawing &drawing_;
    Extents extents_;
};

class DxfExporter final : public Exporter {
public:
    std::string_view name() const noexcept override { return "dxf"; }
    void write(const Drawing &drawing, ByteSink &out) const override { Document(drawing).write(out); }
};

} // namespace
} // namespace stopspan::dxf

STOPSPAN_EXPORTER(stopspan::dxf::DxfExporter)
