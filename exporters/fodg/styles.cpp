#include "styles.hpp"

#include "sheet_look.hpp"

#include <map>

namespace stopspan::fodg {
namespace {

using text_out::Markup;

constexpr std::string_view dash = "sheet-dash", font = "Sheet";

std::string_view align_word(Align align) {
    return align == Align::left ? "start" : align == Align::centre ? "center" : "end";
}

void begin_style(Markup &out, std::string_view name, std::string_view family) {
    out.open("style:style").text("style:name", name).text("style:family", family).close_start();
}

void write_fonts(Markup &out) {
    out.open("office:font-face-decls").close_start();
    out.open("style:font-face").text("style:name", font);
    out.text("svg:font-family", "Arial, 'Liberation Sans', Helvetica").text("style:font-family-generic", "swiss");
    out.close_empty();
    out.close("office:font-face-decls");
}

void write_dashes(Markup &out) {
    out.open("office:styles").close_start();
    out.open("draw:stroke-dash").text("draw:name", dash).text("draw:style", "rect");
    out.text("draw:dots1", "1").text("draw:dots1-length", mm(1.25)).text("draw:distance", mm(0.75)).close_empty();
    out.close("office:styles");
}

void write_shape_style(Markup &out, Layer layer, bool dashed, bool filled) {
    begin_style(out, shape_style(layer, dashed, filled), "graphic");
    out.open("style:graphic-properties").text("draw:stroke", dashed ? "dash" : "solid");
    if (dashed)
        out.text("draw:stroke-dash", dash);
    out.text("svg:stroke-width", mm(pen_width_mm(layer))).text("svg:stroke-color", sheet_look::colour_of(layer));
    out.text("draw:stroke-linejoin", "round").text("svg:stroke-linecap", dashed ? "butt" : "round");
    out.text("draw:fill", filled ? "solid" : "none");
    if (filled)
        out.text("draw:fill-color", sheet_look::colour_of(layer));
    out.close_empty();
    out.close("style:style");
}

void write_text_style(Markup &out, const Text &text) {
    begin_style(out, text_style(text), "paragraph");
    out.open("style:paragraph-properties").text("fo:text-align", align_word(text.align)).close_empty();
    const std::string size = text_out::number(text.height_mm / sheet_look::capital_share / 25.4 * 72, 2) + "pt";
    out.open("style:text-properties").text("style:font-name", font).text("fo:color", sheet_look::colour_of(text.layer));
    for (const std::string_view name : {"fo:font-size", "style:font-size-asian", "style:font-size-complex"})
        out.text(name, size);
    out.close_empty();
    out.close("style:style");
}

void write_text_styles(Markup &out, const Drawing &drawing) {
    std::map<std::string, const Text *> used;
    const auto gather = [&](const std::vector<Primitive> &primitives) {
        for (const Primitive &primitive : primitives)
            if (const Text *text = std::get_if<Text>(&primitive))
                used.emplace(text_style(*text), text);
    };
    for (const Sheet &sheet : drawing.sheets)
        gather(sheet.primitives);
    for (const Symbol &symbol : drawing.symbols)
        gather(symbol.shape);
    for (const auto &[name, text] : used)
        write_text_style(out, *text);
}

void write_page_styles(Markup &out) {
    out.open("style:page-layout").text("style:name", "A3").close_start();
    out.open("style:page-layout-properties");
    for (const std::string_view side : {"top", "bottom", "left", "right"})
        out.text("fo:margin-" + std::string(side), "0mm");
    out.text("fo:page-width", mm(sheet_look::width_mm)).text("fo:page-height", mm(sheet_look::height_mm));
    out.text("style:print-orientation", "landscape").close_empty();
    out.close("style:page-layout");
    begin_style(out, page_style, "drawing-page");
    out.open("style:drawing-page-properties").text("draw:fill", "none").close_empty();
    out.close("style:style");
    begin_style(out, label_style, "graphic");
    out.open("style:graphic-properties").text("draw:stroke", "none").text("draw:fill", "none");
    for (const std::string_view side : {"top", "bottom", "left", "right"}) // programs do not read it in one
        out.text("fo:padding-" + std::string(side), "0mm");
    out.text("fo:wrap-option", "no-wrap").text("draw:textarea-vertical-align", "top");
    out.text("draw:auto-grow-width", "false").text("draw:auto-grow-height", "false").close_empty();
    out.close("style:style");
}

void write_layers_and_paper(Markup &out) {
    out.open("office:master-styles").close_start();
    out.open("draw:layer-set").close_start();
    const auto layer = [&](std::string_view name) { out.open("draw:layer").text("draw:name", name).close_empty(); };
    // The five that programs of the format expect.
    for (const std::string_view name : {"layout", "background", "backgroundobjects", "controls", "measurelines"})
        layer(name);
    for (const Layer each : all_layers)
        layer(to_text(each));
    out.close("draw:layer-set");
    out.open("style:master-page").text("style:name", master_page).text("style:page-layout-name", "A3");
    out.text("draw:style-name", page_style).close_empty();
    out.close("office:master-styles");
}

} // namespace

std::string shape_style(Layer layer, bool dashed, bool filled) {
    return std::string(to_text(layer)) + (dashed ? "-dashed" : filled ? "-filled" : "");
}

std::string text_style(const Text &text) {
    const auto tenths = static_cast<int>(text.height_mm * 10 + 0.5);
    return std::string(to_text(text.layer)) + "-" + std::to_string(tenths) + "-" + std::string(align_word(text.align));
}

void write_styles(Markup &out, const Drawing &drawing) {
    write_fonts(out);
    write_dashes(out);
    out.open("office:automatic-styles").close_start();
    write_page_styles(out);
    for (const Layer layer : all_layers) {
        write_shape_style(out, layer, false, false);
        write_shape_style(out, layer, true, false);
        write_shape_style(out, layer, false, true);
    }
    write_text_styles(out, drawing);
    out.close("office:automatic-styles");
    write_layers_and_paper(out);
}

} // namespace stopspan::fodg
