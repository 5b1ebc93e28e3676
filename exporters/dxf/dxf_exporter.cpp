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
    return {sheet_step_x_mm * static_cast<double>(std::min(last, sheets_in_row - 1)) + sheet_width_mm,
            sheet_step_y_mm * static_cast<double>(last / sheets_in_row) + sheet_height_mm};
}

// "3 Lathe power and control circuit": names of layouts may not hold signs that others use for paths and lists.
std::string layout_name(const Sheet &sheet) {
    std::string name = sheet.number + " " + sheet.title;
    std::erase_if(name, [](char c) { return std::string_view("<>/\\\":;?*|,=`").find(c) != std::string_view::npos; });
    return name;
}

class Document {
public:
    Document(const Drawing &drawing, Version version)
        : drawing_(drawing), version_(version), extents_(extents_of(drawing.sheets.size())) {}

    // The header names the first free handle, so they are counted before.
    void write(ByteSink &sink) const {
        GroupWriter counting(version_);
        body(counting, 0);
        GroupWriter out(sink, version_);
        body(out, counting.next_handle());
    }

private:
    void body(GroupWriter &out, std::uint32_t handle_seed) const {
        write_header(out, extents_, handle_seed);
        const std::vector<Layout> layouts = version_ == Version::r12 ? std::vector<Layout>{} : layouts_of(out);
        std::vector<BlockRecord> records{{"*Model_Space", model_space, model_layout}};
        for (const Layout &layout : layouts)
            records.push_back({layout.block_name, layout.record, layout.object});
        const std::size_t spaces = records.size();
        for (const Symbol &symbol : drawing_.symbols)
            records.push_back({symbol.name, out.new_handle(), 0});
        write_tables(out, extents_, records);
        blocks(out, layouts, std::span(records).subspan(spaces));
        entities(out, layouts);
        if (version_ != Version::r12)
            write_objects(out, extents_, layouts);
        out.word(0, "EOF");
    }

    // One for each sheet; a file needs one at least.
    std::vector<Layout> layouts_of(GroupWriter &out) const {
        std::vector<Layout> layouts;
        for (std::size_t i = 0; i < std::max<std::size_t>(drawing_.sheets.size(), 1); ++i) {
            const auto handle = [&] { return out.new_handle(); };
            layouts.push_back({drawing_.sheets.empty() ? "Layout1" : layout_name(drawing_.sheets[i]), sheet_origin(i),
                               i == 0 ? "*Paper_Space" : "*Paper_Space" + std::to_string(i - 1), handle(), handle(),
                               handle(), handle(), handle(), handle()});
        }
        return layouts;
    }

    // The entities of the first layout stand among all entities, those of the others in their blocks.
    void blocks(GroupWriter &out, std::span<const Layout> layouts, std::span<const BlockRecord> symbols) const {
        out.word(0, "SECTION").word(2, "BLOCKS");
        if (version_ != Version::r12) {
            write_block_begin(out, "*Model_Space", model_space, model_block, false);
            write_block_end(out, model_space, model_end);
        }
        for (const Layout &layout : layouts) {
            write_block_begin(out, layout.block_name, layout.record, layout.block, false);
            if (&layout != &layouts.front())
                write_viewports(out, layout);
            write_block_end(out, layout.record, layout.block_end);
        }
        for (std::size_t i = 0; i < symbols.size(); ++i) {
            const Symbol &symbol = drawing_.symbols[i];
            const std::uint32_t record = symbols[i].handle;
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

    void entities(GroupWriter &out, std::span<const Layout> layouts) const {
        out.word(0, "SECTION").word(2, "ENTITIES");
        for (std::size_t i = 0; i < drawing_.sheets.size(); ++i) {
            EntityWriter sheet(out, model_space, sheet_origin(i));
            for (const Primitive &primitive : drawing_.sheets[i].primitives)
                sheet.write(primitive);
            for (const Insert &insert : drawing_.sheets[i].inserts)
                sheet.write(insert, symbol(insert.symbol));
        }
        if (!layouts.empty())
            write_viewports(out, layouts.front());
        out.word(0, "ENDSEC");
    }

    const Symbol &symbol(const std::string &name) const {
        return *std::lower_bound(drawing_.symbols.begin(), drawing_.symbols.end(), name,
                                 [](const Symbol &each, const std::string &wanted) { return each.name < wanted; });
    }

    const Drawing &drawing_;
    Version version_;
    Extents extents_;
};

constexpr std::array<std::string_view, 1> suffix{"dxf"};

// The one that opens right in most programs.
class Dxf final : public Exporter {
public:
    std::string_view name() const noexcept override { return "dxf"; }
    std::span<const std::string_view> suffixes() const noexcept override { return suffix; }
    void write(const Drawing &drawing, ByteSink &out) const override { Document(drawing, Version::r2000).write(out); }
};

// For programs that do not know the notation of characters beyond ASCII.
class DxfR2007 final : public Exporter {
public:
    std::string_view name() const noexcept override { return "dxf-r2007"; }
    std::span<const std::string_view> suffixes() const noexcept override { return {}; }
    void write(const Drawing &drawing, ByteSink &out) const override { Document(drawing, Version::r2007).write(out); }
};

// For programs that know nothing newer: model space only.
class DxfR12 final : public Exporter {
public:
    std::string_view name() const noexcept override { return "dxf-r12"; }
    std::span<const std::string_view> suffixes() const noexcept override { return {}; }
    void write(const Drawing &drawing, ByteSink &out) const override { Document(drawing, Version::r12).write(out); }
};

} // namespace
} // namespace stopspan::dxf

STOPSPAN_EXPORTERS(stopspan::dxf::Dxf, stopspan::dxf::DxfR2007, stopspan::dxf::DxfR12)
