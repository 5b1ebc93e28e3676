#include "structure.hpp"

#include "entities.hpp"

#include <array>
#include <cmath>

namespace stopspan::dxf {
namespace {

constexpr std::string_view viewport_layer = "VIEWPORTS";

void begin_section(GroupWriter &out, std::string_view name) {
    out.word(0, "SECTION").word(2, name);
}
void end_section(GroupWriter &out) {
    out.word(0, "ENDSEC");
}

void begin_table(GroupWriter &out, std::string_view name, Fixed handle, std::size_t count) {
    out.word(0, "TABLE").word(2, name);
    if (out.version() != Version::r12)
        out.handle(5, handle).handle(330, 0).word(100, "AcDbSymbolTable");
    out.whole(70, static_cast<long long>(count));
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
        out_.word(0, type).handle(handle_code, next_++).owner(table).subclass("AcDbSymbolTableRecord");
        out_.subclass(subclass);
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
    out.real(12, extents.width_mm / 2).real(22, sheet_height_mm - extents.height_mm / 2);
    out.real(13, 0).real(23, 0).real(14, 2.5).real(24, 2.5).real(15, 2.5).real(25, 2.5);
    out.real(16, 0).real(26, 0).real(36, 1).real(17, 0).real(27, 0).real(37, 0);
    out.real(40, extents.height_mm * 1.1).real(41, 1.5).real(42, 50).real(43, 0).real(44, 0).real(50, 0).real(51, 0);
    out.whole(71, 0).whole(72, 100).whole(73, 1).whole(74, 3).whole(75, 0).whole(76, 0).whole(77, 0).whole(78, 0);
    end_table(out);
}

// Names of R12 are in capitals.
std::string_view continuous(const GroupWriter &out) {
    return out.version() == Version::r12 ? "CONTINUOUS" : "Continuous";
}

void write_linetypes(GroupWriter &out, Entries &entries) {
    std::vector<std::string_view> names{continuous(out)};
    if (out.version() != Version::r12) // there, words of their own and no linetypes
        names.insert(names.begin(), {"ByBlock", "ByLayer"});
    begin_table(out, "LTYPE", ltype_table, names.size() + 1);
    for (const std::string_view name : names) {
        entries.begin("LTYPE", ltype_table, "AcDbLinetypeTableRecord", name);
        out.word(3, "").whole(72, 65).whole(73, 0).real(40, 0);
    }
    entries.begin("LTYPE", ltype_table, "AcDbLinetypeTableRecord", dashed_linetype);
    out.word(3, "__ __ __").whole(72, 65).whole(73, 2).real(40, 2);
    for (const double length : {1.25, -0.75}) {
        out.real(49, length);
        if (out.version() != Version::r12)
            out.whole(74, 0);
    }
    end_table(out);
}

void write_layers(GroupWriter &out, Entries &entries) {
    const bool old = out.version() == Version::r12; // no lineweights, no layouts
    begin_table(out, "LAYER", layer_table, all_layers.size() + (old ? 1 : 2));
    const auto layer = [&](std::string_view name, int colour, double width_mm) {
        entries.begin("LAYER", layer_table, "AcDbLayerTableRecord", name);
        out.whole(62, colour).word(6, continuous(out));
        if (!old)
            out.whole(370, std::lround(width_mm * 100));
    };
    layer("0", 7, 0.25);
    for (const Layer each : all_layers)
        layer(layer_name(each), colour_of(each), pen_width_mm(each));
    if (!old) {
        entries.begin("LAYER", layer_table, "AcDbLayerTableRecord", viewport_layer);
        out.whole(62, 8).word(6, continuous(out)).whole(290, 0).whole(370, 25); // 290: not plotted
    }
    end_table(out);
}

void write_styles(GroupWriter &out, Entries &entries) {
    begin_table(out, "STYLE", style_table, 2);
    for (const auto &[name, font] :
         {std::pair<std::string_view, std::string_view>{out.version() == Version::r12 ? "STANDARD" : "Standard", "txt"},
          {text_style, "arial.ttf"}}) {
        entries.begin("STYLE", style_table, "AcDbTextStyleTableRecord", name);
        // Letters a little narrower than the font's: the layout holds in programs that put another font in its place.
        out.real(40, 0).real(41, 0.9).real(50, 0).whole(71, 0).real(42, 2.5).word(3, font).word(4, "");
    }
    end_table(out);
}

// PLOTSETTINGS and LAYOUT: millimetres, A3, one to one. @param last_viewport  0 for the model
void write_layout(GroupWriter &out, std::string_view name, std::size_t tab, std::uint32_t object, std::uint32_t record,
                  Point low, Point high, std::uint32_t last_viewport) {
    const bool model = last_viewport == 0;
    out.word(0, "LAYOUT").handle(5, object).handle(330, layout_dictionary);
    out.word(100, "AcDbPlotSettings").word(1, "").word(2, "none_device").word(4, "ISO_A3_(420.00_x_297.00_MM)");
    out.word(6, "").real(40, 0).real(41, 0).real(42, 0).real(43, 0).real(44, sheet_width_mm).real(45, sheet_height_mm);
    for (const int code : {46, 47, 48, 49, 140, 141})
        out.real(code, 0);
    out.real(142, 1).real(143, 1).whole(70, model ? 1712 : 688).whole(72, 1).whole(73, 0).whole(74, 5).word(7, "");
    out.whole(75, 16).real(147, 1).real(148, 0).real(149, 0);
    out.word(100, "AcDbLayout").text(1, name).whole(70, 1).whole(71, static_cast<long long>(tab));
    out.real(10, 0).real(20, 0).real(11, sheet_width_mm).real(21, sheet_height_mm).point(12, 0, 0);
    out.point(14, low.x_mm, low.y_mm).point(15, high.x_mm, high.y_mm);
    out.real(146, 0).point(13, 0, 0).real(16, 1).real(26, 0).real(36, 0).real(17, 0).real(27, 1).real(37, 0);
    out.whole(76, 0).handle(330, record);
    if (!model)
        out.handle(331, last_viewport);
}

void write_viewport_entity(GroupWriter &out, std::uint32_t own, std::uint32_t record, int id, Point looks_at,
                           double width_mm, double height_mm) {
    constexpr int icon = 32, fast_zoom = 128, zoom_locked = 16384, enabled = 32768;
    out.word(0, "VIEWPORT")
        .handle(5, own)
        .handle(330, record)
        .word(100, "AcDbEntity")
        .whole(67, 1)
        .word(8, viewport_layer);
    out.word(100, "AcDbViewport")
        .point(10, sheet_width_mm / 2, sheet_height_mm / 2)
        .real(40, width_mm)
        .real(41, height_mm);
    out.whole(68, id).whole(69, id).real(12, looks_at.x_mm).real(22, looks_at.y_mm);
    out.real(13, 0).real(23, 0).real(14, 2.5).real(24, 2.5).real(15, 2.5).real(25, 2.5);
    out.real(16, 0).real(26, 0).real(36, 1).point(17, 0, 0).real(42, 50).real(43, 0).real(44, 0).real(45, height_mm);
    out.real(50, 0).real(51, 0).whole(72, 100).whole(90, icon | fast_zoom | enabled | (id > 1 ? zoom_locked : 0));
    out.word(1, "").whole(281, 0).whole(71, 0).whole(74, 0);
}

void write_dictionary(GroupWriter &out, std::uint32_t handle, std::uint32_t owner,
                      const std::vector<std::pair<std::string_view, std::uint32_t>> &entries) {
    out.word(0, "DICTIONARY").handle(5, handle).handle(330, owner).word(100, "AcDbDictionary").whole(281, 1);
    for (const auto &[name, entry] : entries)
        out.text(3, name).handle(350, entry);
}

} // namespace

void write_header(GroupWriter &out, const Extents &extents, std::uint32_t handle_seed) {
    const bool old = out.version() == Version::r12;
    const double low_mm = sheet_height_mm - extents.height_mm;
    begin_section(out, "HEADER");
    out.word(9, "$ACADVER").word(1, old ? "AC1009" : out.version() == Version::r2000 ? "AC1015" : "AC1021");
    out.word(9, "$DWGCODEPAGE").word(3, "ANSI_1252");
    if (old)
        out.word(9, "$HANDLING").whole(70, 1);
    out.word(9, "$HANDSEED").handle(5, handle_seed);
    out.word(9, "$INSBASE").point(10, 0, 0);
    out.word(9, "$EXTMIN").point(10, 0, low_mm);
    out.word(9, "$EXTMAX").point(10, extents.width_mm, sheet_height_mm);
    out.word(9, "$LIMMIN").real(10, 0).real(20, low_mm);
    out.word(9, "$LIMMAX").real(10, extents.width_mm).real(20, sheet_height_mm);
    out.word(9, "$LTSCALE").real(40, 1);
    out.word(9, "$ATTMODE").whole(70, 1);
    out.word(9, "$TEXTSIZE").real(40, 2.5);
    out.word(9, "$TEXTSTYLE").word(7, text_style);
    out.word(9, "$CLAYER").word(8, "0");
    out.word(9, "$LUNITS").whole(70, 2);
    out.word(9, "$LUPREC").whole(70, 2);
    out.word(9, "$TILEMODE").whole(70, 1);
    if (!old) {
        out.word(9, "$INSUNITS").whole(70, 4);
        out.word(9, "$MEASUREMENT").whole(70, 1);
        out.word(9, "$PSTYLEMODE").whole(290, 1); // pens by colour: no table of plot styles is needed
    }
    end_section(out);
    if (!old) {
        begin_section(out, "CLASSES");
        end_section(out);
    }
}

void write_tables(GroupWriter &out, const Extents &extents, const std::vector<BlockRecord> &records) {
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
    if (out.version() != Version::r12) {
        begin_table(out, "DIMSTYLE", dimstyle_table, 1);
        out.word(100, "AcDbDimStyleTable").whole(71, 1);
        entries.begin("DIMSTYLE", dimstyle_table, "AcDbDimStyleTableRecord", "Standard", 105);
        end_table(out);
        begin_table(out, "BLOCK_RECORD", block_record_table, records.size());
        for (const auto &[name, handle, layout] : records) {
            out.word(0, "BLOCK_RECORD").handle(5, handle).handle(330, block_record_table);
            out.word(100, "AcDbSymbolTableRecord").word(100, "AcDbBlockTableRecord").word(2, name).handle(340, layout);
        }
        end_table(out);
    }
    end_section(out);
}

void write_block_begin(GroupWriter &out, std::string_view name, std::uint32_t record, std::uint32_t handle,
                       bool has_attributes) {
    out.word(0, "BLOCK").handle(5, handle).owner(record).subclass("AcDbEntity").word(8, "0");
    out.subclass("AcDbBlockBegin").word(2, name).whole(70, has_attributes ? 2 : 0).point(10, 0, 0);
    out.word(3, name).word(1, "");
}

void write_block_end(GroupWriter &out, std::uint32_t record, std::uint32_t handle) {
    out.word(0, "ENDBLK").handle(5, handle).owner(record).subclass("AcDbEntity").word(8, "0");
    out.subclass("AcDbBlockEnd");
}

// The first viewport is the view of the paper itself; the second looks at the sheet, one to one.
void write_viewports(GroupWriter &out, const Layout &layout) {
    const Point middle{sheet_width_mm / 2, sheet_height_mm / 2};
    write_viewport_entity(out, layout.paper_view, layout.record, 1, middle, sheet_width_mm * 1.1,
                          sheet_height_mm * 1.1);
    write_viewport_entity(out, layout.viewport, layout.record, 2,
                          {layout.looks_at.x_mm + middle.x_mm, layout.looks_at.y_mm + middle.y_mm}, sheet_width_mm,
                          sheet_height_mm);
}

void write_objects(GroupWriter &out, const Extents &extents, const std::vector<Layout> &layouts) {
    begin_section(out, "OBJECTS");
    write_dictionary(out, root_dictionary, 0, {{"ACAD_GROUP", group_dictionary}, {"ACAD_LAYOUT", layout_dictionary}});
    write_dictionary(out, group_dictionary, root_dictionary, {});
    std::vector<std::pair<std::string_view, std::uint32_t>> tabs{{"Model", model_layout}};
    for (const Layout &layout : layouts)
        tabs.emplace_back(layout.name, layout.object);
    write_dictionary(out, layout_dictionary, root_dictionary, tabs);
    write_layout(out, "Model", 0, model_layout, model_space, {0, sheet_height_mm - extents.height_mm},
                 {extents.width_mm, sheet_height_mm}, 0);
    for (std::size_t i = 0; i < layouts.size(); ++i)
        write_layout(out, layouts[i].name, i + 1, layouts[i].object, layouts[i].record, {0, 0},
                     {sheet_width_mm, sheet_height_mm}, layouts[i].viewport);
    end_section(out);
}

} // namespace stopspan::dxf
