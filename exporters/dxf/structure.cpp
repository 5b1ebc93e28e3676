#include "structure.hpp"

#include "entities.hpp"

#include <array>
#include <cmath>

namespace stopspan::dxf {
namespace {

void begin_section(GroupWriter &out, std::string_view name) {
    out.word(0, "SECTION").word(2, name);
}
void end_section(GroupWriter &out) {
    out.word(0, "ENDSEC");
}

void begin_table(GroupWriter &out, std::string_view name, Fixed handle, std::size_t count) {
    out.word(0, "TABLE")
        .word(2, name)
        .handle(5, handle)
        .handle(330, 0)
        .word(100, "AcDbSymbolTable")
        .whole(70, static_cast<long long>(count));
}
void end_table(GroupWriter &out) {
    out.word(0, "ENDTAB");
}

// Entries of tables take fixed handles one after the other.
class Entries {
public:
    explicit Entries(GroupWriter &out) : out_(out) {}
    void begin(std::string_view type, Fixed table, std::string_view subclass, std::string_view name,
               int handle_code = 5) {
        out_.word(0, type).handle(handle_code, next_++).handle(330, table).word(100, "AcDbSymbolTableRecord");
        out_.word(100, subclass);
        if (!name.empty())
            out_.word(2, name).whole(70, 0);
    }

private:
    GroupWriter &out_;
    std::uint32_t next_ = first_table_entry;
};

// Index colours: black or white by background, and a few that set apart what is read beside the circuit.
int colour_of(Layer layer) {
    switch (layer) {
    case Layer::net_names:
        return 5;
    case Layer::references:
        return 8;
    case Layer::stops:
        return 1;
    default:
        return 7;
    }
}

void write_viewport(GroupWriter &out, Entries &entries, const Extents &extents) {
    begin_table(out, "VPORT", vport_table, 1);
    entries.begin("VPORT", vport_table, "AcDbViewportTableRecord", "*ACTIVE");
    out.real(10, 0).real(20, 0).real(11, 1).real(21, 1);
    out.real(12, extents.width_mm / 2).real(22, -extents.height_mm / 2 + 297);
    out.real(13, 0).real(23, 0).real(14, 2.5).real(24, 2.5).real(15, 2.5).real(25, 2.5);
    out.real(16, 0).real(26, 0).real(36, 1).real(17, 0).real(27, 0).real(37, 0);
    out.real(40, extents.height_mm * 1.1).real(41, 1.5).real(42, 50).real(43, 0).real(44, 0).real(50, 0).real(51, 0);
    out.whole(71, 0).whole(72, 100).whole(73, 1).whole(74, 3).whole(75, 0).whole(76, 0).whole(77, 0).whole(78, 0);
    end_table(out);
}

void write_linetypes(GroupWriter &out, Entries &entries) {
    begin_table(out, "LTYPE", ltype_table, 4);
    for (const std::string_view name : {"ByBlock", "ByLayer", "Continuous"}) {
        entries.begin("LTYPE", ltype_table, "AcDbLinetypeTableRecord", name);
        out.word(3, "").whole(72, 65).whole(73, 0).real(40, 0);
    }
    entries.begin("LTYPE", ltype_table, "AcDbLinetypeTableRecord", dashed_linetype);
    out.word(3, "__ __ __").whole(72, 65).whole(73, 2).real(40, 2);
    out.real(49, 1.25).whole(74, 0).real(49, -0.75).whole(74, 0);
    end_table(out);
}

void write_layers(GroupWriter &out, Entries &entries) {
    begin_table(out, "LAYER", layer_table, all_layers.size() + 1);
    entries.begin("LAYER", layer_table, "AcDbLayerTableRecord", "0");
    out.whole(62, 7).word(6, "Continuous").whole(370, 25);
    for (const Layer layer : all_layers) {
        entries.begin("LAYER", layer_table, "AcDbLayerTableRecord", layer_name(layer));
        out.whole(62, colour_of(layer)).word(6, "Continuous");
        out.whole(370, std::lround(pen_width_mm(layer) * 100));
    }
    end_table(out);
}

void write_styles(GroupWriter &out, Entries &entries) {
    begin_table(out, "STYLE", style_table, 2);
    for (const auto &[name, font] :
         {std::pair<std::string_view, std::string_view>{"Standard", "txt"}, {text_style, "arial.ttf"}}) {
        entries.begin("STYLE", style_table, "AcDbTextStyleTableRecord", name);
        // Letters a little narrower than the font's: the layout holds in programs that put another font in its place.
        out.real(40, 0).real(41, 0.9).real(50, 0).whole(71, 0).real(42, 2.5).word(3, font).word(4, "");
    }
    end_table(out);
}

void write_layout(GroupWriter &out, const Extents &extents, bool model) {
    out.word(0, "LAYOUT").handle(5, model ? model_layout : paper_layout).handle(330, layout_dictionary);
    out.word(100, "AcDbPlotSettings").word(1, "").word(2, "none_device").word(4, "ISO_A3_(420.00_x_297.00_MM)");
    out.word(6, "").real(40, 0).real(41, 0).real(42, 0).real(43, 0).real(44, 420).real(45, 297);
    for (const int code : {46, 47, 48, 49, 140, 141})
        out.real(code, 0);
    out.real(142, 1).real(143, 1).whole(70, model ? 1712 : 688).whole(72, 1).whole(73, 0).whole(74, 5).word(7, "");
    out.whole(75, 16).real(147, 1).real(148, 0).real(149, 0);
    out.word(100, "AcDbLayout").word(1, model ? "Model" : "Layout1").whole(70, 1).whole(71, model ? 0 : 1);
    out.real(10, 0).real(20, 0).real(11, 420).real(21, 297).point(12, 0, 0);
    out.point(14, 0, model ? 297 - extents.height_mm : 0);
    out.point(15, model ? extents.width_mm : 420, 297);
    out.real(146, 0).point(13, 0, 0).real(16, 1).real(26, 0).real(36, 0).real(17, 0).real(27, 1).real(37, 0);
    out.whole(76, 0).handle(330, model ? model_space : paper_space);
}

void write_dictionary(GroupWriter &out, Fixed handle, Fixed owner,
                      const std::vector<std::pair<std::string_view, Fixed>> &entries) {
    out.word(0, "DICTIONARY").handle(5, handle).handle(330, owner).word(100, "AcDbDictionary").whole(281, 1);
    for (const auto &[name, entry] : entries)
        out.word(3, name).handle(350, entry);
}

} // namespace

void write_header(GroupWriter &out, const Extents &extents, std::uint32_t handle_seed) {
    begin_section(out, "HEADER");
    out.word(9, "$ACADVER").word(1, "AC1021"); // the first version with texts in UTF-8
    out.word(9, "$DWGCODEPAGE").word(3, "ANSI_1252");
    out.word(9, "$HANDSEED").handle(5, handle_seed);
    out.word(9, "$INSBASE").point(10, 0, 0);
    out.word(9, "$EXTMIN").point(10, 0, 297 - extents.height_mm);
    out.word(9, "$EXTMAX").point(10, extents.width_mm, 297);
    out.word(9, "$LIMMIN").real(10, 0).real(20, 297 - extents.height_mm);
    out.word(9, "$LIMMAX").real(10, extents.width_mm).real(20, 297);
    out.word(9, "$LTSCALE").real(40, 1);
    out.word(9, "$ATTMODE").whole(70, 1);
    out.word(9, "$TEXTSIZE").real(40, 2.5);
    out.word(9, "$TEXTSTYLE").word(7, text_style);
    out.word(9, "$CLAYER").word(8, "0");
    out.word(9, "$INSUNITS").whole(70, 4);
    out.word(9, "$MEASUREMENT").whole(70, 1);
    out.word(9, "$LUNITS").whole(70, 2);
    out.word(9, "$LUPREC").whole(70, 2);
    out.word(9, "$TILEMODE").whole(70, 1);
    end_section(out);
    begin_section(out, "CLASSES");
    end_section(out);
}

void write_tables(GroupWriter &out, const Extents &extents,
                  const std::vector<std::pair<std::string, std::uint32_t>> &records) {
    Entries entries(out);
    begin_section(out, "TABLES");
    write_viewport(out, entries, extents);
    write_linetypes(out, entries);
    write_layers(out, entries);
    write_styles(out, entries);
    begin_table(out, "VIEW", view_table, 0);
    end_table(out);
    begin_table(out, "UCS", ucs_table, 0);
    end_table(out);
    begin_table(out, "APPID", appid_table, 1);
    entries.begin("APPID", appid_table, "AcDbRegAppTableRecord", "ACAD");
    end_table(out);
    begin_table(out, "DIMSTYLE", dimstyle_table, 1);
    out.word(100, "AcDbDimStyleTable").whole(71, 1);
    entries.begin("DIMSTYLE", dimstyle_table, "AcDbDimStyleTableRecord", "Standard", 105);
    end_table(out);
    begin_table(out, "BLOCK_RECORD", block_record_table, records.size() + 2);
    const auto record = [&](std::string_view name, std::uint32_t handle, std::uint32_t layout) {
        out.word(0, "BLOCK_RECORD").handle(5, handle).handle(330, block_record_table);
        out.word(100, "AcDbSymbolTableRecord").word(100, "AcDbBlockTableRecord").word(2, name).handle(340, layout);
    };
    record("*Model_Space", model_space, model_layout);
    record("*Paper_Space", paper_space, paper_layout);
    for (const auto &[name, handle] : records)
        record(name, handle, 0);
    end_table(out);
    end_section(out);
}

void write_block_begin(GroupWriter &out, std::string_view name, std::uint32_t record, std::uint32_t handle,
                       bool has_attributes) {
    out.word(0, "BLOCK").handle(5, handle).handle(330, record).word(100, "AcDbEntity").word(8, "0");
    out.word(100, "AcDbBlockBegin").word(2, name).whole(70, has_attributes ? 2 : 0).point(10, 0, 0);
    out.word(3, name).word(1, "");
}

void write_block_end(GroupWriter &out, std::uint32_t record, std::uint32_t handle) {
    out.word(0, "ENDBLK").handle(5, handle).handle(330, record).word(100, "AcDbEntity").word(8, "0");
    out.word(100, "AcDbBlockEnd");
}

void write_objects(GroupWriter &out, const Extents &extents) {
    begin_section(out, "OBJECTS");
    write_dictionary(out, root_dictionary, Fixed{},
                     {{"ACAD_GROUP", group_dictionary}, {"ACAD_LAYOUT", layout_dictionary}});
    write_dictionary(out, group_dictionary, root_dictionary, {});
    write_dictionary(out, layout_dictionary, root_dictionary, {{"Layout1", paper_layout}, {"Model", model_layout}});
    write_layout(out, extents, true);
    write_layout(out, extents, false);
    end_section(out);
}

} // namespace stopspan::dxf
