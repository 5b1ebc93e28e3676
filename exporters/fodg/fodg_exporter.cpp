#include "sheet_look.hpp"
#include "styles.hpp"

#include "stopspan/exporter.hpp"

#include <algorithm>
#include <numbers>

namespace stopspan::fodg {
namespace {

using text_out::Markup;

// Share of the font size from the top of a line down to its baseline, and of the whole line: those of Arial.
constexpr double ascent_share = 0.905, line_share = 1.149;
// A frame is wider than its text, since nobody knows the font it will be shown in: capitals of the widest letters.
constexpr double frame_width_share = 1.4;

// Draws primitives with y turned over, all in places of the page: groups have no places of their own.
class Shapes {
public:
    Shapes(Markup &out, Point origin) : out_(out), origin_(origin) {}

    void write(const Primitive &primitive) {
        std::visit([&](const auto &each) { put(each); }, primitive);
    }

private:
    double x(Point p) const { return origin_.x_mm + p.x_mm; }
    double y(Point p) const { return sheet_look::height_mm - origin_.y_mm - p.y_mm; }

    void open(std::string_view element, const std::string &style, Layer layer) {
        out_.open(element).text("draw:style-name", style).text("draw:layer", to_text(layer));
    }
    void box(double left, double top, double width, double height) {
        out_.text("svg:x", mm(left)).text("svg:y", mm(top));
        out_.text("svg:width", mm(width)).text("svg:height", mm(height));
    }

    void put(const Line &line) {
        open("draw:line", shape_style(line.layer, line.dashed), line.layer);
        out_.text("svg:x1", mm(x(line.a))).text("svg:y1", mm(y(line.a)));
        out_.text("svg:x2", mm(x(line.b))).text("svg:y2", mm(y(line.b))).close_empty();
    }

    // Points are whole numbers, thousandths of a millimetre, in the box that they fill: some programs take any box for
    // that one. What lies in one line is drawn as lines, since a box without height has no scale.
    void put(const Polyline &line) {
        const auto [left, right] = std::ranges::minmax(line.points, {}, [&](Point p) { return x(p); });
        const auto [top, bottom] = std::ranges::minmax(line.points, {}, [&](Point p) { return y(p); });
        const double width = x(right) - x(left), height = y(bottom) - y(top);
        if (width < 0.001 || height < 0.001) {
            for (std::size_t i = 1; i < line.points.size(); ++i)
                put(Line{line.points[i - 1], line.points[i], line.layer, line.dashed, {}});
            return;
        }
        open(line.closed ? "draw:polygon" : "draw:polyline", shape_style(line.layer, line.dashed), line.layer);
        box(x(left), y(top), width, height);
        const auto micrometres = [](double value_mm) { return text_out::number(value_mm * 1000, 0); };
        out_.text("svg:viewBox", "0 0 " + micrometres(width) + " " + micrometres(height));
        std::string points;
        for (const Point p : line.points)
            points += (points.empty() ? "" : " ") + micrometres(x(p) - x(left)) + "," + micrometres(y(p) - y(top));
        out_.text("draw:points", points).close_empty();
    }

    void put(const Circle &circle) {
        open("draw:circle", shape_style(circle.layer, false, circle.filled), circle.layer);
        box(x(circle.centre) - circle.radius_mm, y(circle.centre) - circle.radius_mm, 2 * circle.radius_mm,
            2 * circle.radius_mm);
        out_.close_empty();
    }

    void put(const Arc &arc) {
        open("draw:circle", shape_style(arc.layer), arc.layer);
        box(x(arc.centre) - arc.radius_mm, y(arc.centre) - arc.radius_mm, 2 * arc.radius_mm, 2 * arc.radius_mm);
        out_.text("draw:kind", "arc").number("draw:start-angle", arc.start_deg).number("draw:end-angle", arc.end_deg);
        out_.close_empty();
    }

    void put(const Text &text) {
        const double size = text.height_mm / sheet_look::capital_share, ascent = ascent_share * size;
        const auto characters = std::ranges::count_if(text.text, [](char c) { return (c & 0xC0) != 0x80; });
        const double width = frame_width_share * text.height_mm * static_cast<double>(std::max<long>(characters, 1));
        const double before = text.align == Align::left ? 0 : text.align == Align::centre ? width / 2 : width;
        const double height = line_share * size;
        open("draw:frame", std::string(label_style), text.layer);
        if (text.upright) { // turned about the page's origin, then moved
            out_.text("svg:width", mm(width)).text("svg:height", mm(height));
            out_.text("draw:transform", "rotate (" + text_out::number(std::numbers::pi / 2, 9) + ") translate (" +
                                            mm(x(text.at) - ascent) + " " + mm(y(text.at) + before) + ")");
        } else {
            box(x(text.at) - before, y(text.at) - ascent, width, height);
        }
        out_.close_start();
        out_.open("draw:text-box").close_start();
        out_.open("text:p").text("text:style-name", text_style(text));
        out_.close_start_inline();
        words(text.text);
        out_.close("text:p");
        out_.close("draw:text-box");
        out_.close("draw:frame");
    }

    // Programs take several blanks for one, and leave out the first and the last, unless each is an element.
    void words(std::string_view text) {
        while (!text.empty()) {
            const std::size_t blanks = std::min(text.find_first_not_of(' '), text.size());
            for (std::size_t i = 0; i < blanks; ++i)
                out_.open("text:s").close_empty_inline();
            text.remove_prefix(blanks);
            std::size_t end = std::min(text.find("  "), text.size());
            if (end == text.size() && !text.empty() && text.back() == ' ')
                --end;
            out_.characters(text.substr(0, end));
            text.remove_prefix(end);
        }
    }

    Markup &out_;
    Point origin_;
};

class Document {
public:
    Document(const Drawing &drawing, ByteSink &sink) : drawing_(drawing), out_(sink) {}

    void write() {
        out_.raw("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n").open("office:document");
        constexpr std::string_view oasis = "urn:oasis:names:tc:opendocument:xmlns:";
        for (const auto &[prefix, name] : {std::pair<std::string_view, std::string_view>{"office", "office:1.0"},
                                           {"style", "style:1.0"},
                                           {"text", "text:1.0"},
                                           {"draw", "drawing:1.0"},
                                           {"fo", "xsl-fo-compatible:1.0"},
                                           {"svg", "svg-compatible:1.0"}})
            out_.text("xmlns:" + std::string(prefix), std::string(oasis) + std::string(name));
        out_.text("xmlns:dc", "http://purl.org/dc/elements/1.1/").text("office:version", "1.3");
        out_.text("office:mimetype", "application/vnd.oasis.opendocument.graphics").close_start();
        out_.open("office:meta").close_start();
        out_.open("dc:title").content(drawing_.name).close("dc:title");
        out_.close("office:meta");
        write_styles(out_, drawing_);
        out_.open("office:body").close_start();
        out_.open("office:drawing").close_start();
        for (const Sheet &sheet : drawing_.sheets)
            page(sheet);
        if (drawing_.sheets.empty()) // programs want one
            page({"1", "", {}, {}});
        out_.close("office:drawing");
        out_.close("office:body");
        out_.close("office:document");
    }

private:
    void page(const Sheet &sheet) {
        out_.open("draw:page").text("draw:name", sheet.number + " " + sheet.title);
        out_.text("draw:style-name", page_style).text("draw:master-page-name", master_page).close_start();
        Shapes shapes(out_, {});
        for (const Primitive &primitive : sheet.primitives)
            shapes.write(primitive);
        for (const Insert &insert : sheet.inserts)
            group(insert);
        out_.close("draw:page");
    }

    // A symbol is a group that says what it is; the format has no blocks.
    void group(const Insert &insert) {
        const auto symbol = std::ranges::lower_bound(drawing_.symbols, insert.symbol, {}, &Symbol::name);
        if (symbol->shape.empty())
            return;
        const auto designation = insert.attributes.find("DESIGNATION");
        out_.open("draw:g").close_start();
        out_.open("svg:title");
        out_.content(designation == insert.attributes.end() ? insert.symbol : designation->second).close("svg:title");
        std::string said = insert.symbol;
        for (const auto &[tag, value] : insert.attributes)
            said += ", " + tag + " " + value;
        out_.open("svg:desc").content(said).close("svg:desc");
        Shapes shapes(out_, insert.at);
        for (const Primitive &primitive : symbol->shape)
            shapes.write(primitive);
        out_.close("draw:g");
    }

    const Drawing &drawing_;
    Markup out_;
};

constexpr std::array<std::string_view, 1> suffix{"fodg"};

class FodgExporter final : public Exporter {
public:
    std::string_view name() const noexcept override { return "fodg"; }
    std::span<const std::string_view> suffixes() const noexcept override { return suffix; }
    void write(const Drawing &drawing, ByteSink &out) const override { Document(drawing, out).write(); }
};

} // namespace
} // namespace stopspan::fodg

STOPSPAN_EXPORTERS(stopspan::fodg::FodgExporter)
