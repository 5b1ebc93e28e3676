#include "bindings.hpp"

#include "stopspan/drawing.hpp"

#include <pybind11/stl.h>

namespace stopspan::python {

using namespace py::literals;

namespace {

py::object svg_of(const py::object &self) {
    return py::module_::import("stopspan.display").attr("drawing_svg")(self);
}

py::tuple pair_of(Point p) {
    return py::make_tuple(p.x_mm, p.y_mm);
}

std::string_view word(Align align) {
    return align == Align::left ? "left" : align == Align::centre ? "centre" : "right";
}

py::dict dict_of(const std::vector<std::pair<std::string, std::string>> &pairs) {
    py::dict made;
    for (const auto &[name, value] : pairs)
        made[py::str(name)] = value;
    return made;
}

// Coordinates are pairs in millimetres, origin bottom left, y upwards; layers are words.
template <class Shape>
py::class_<Shape> shape_class(py::module_ &module, const char *name, const char *doc) {
    return py::class_<Shape>(module, name, doc).def_property_readonly("layer", [](const Shape &self) {
        return to_text(self.layer);
    });
}

void register_primitives(py::module_ &module) {
    shape_class<Line>(module, "Line", "A line; a wire has the name of its net.")
        .def_property_readonly("a", [](const Line &self) { return pair_of(self.a); })
        .def_property_readonly("b", [](const Line &self) { return pair_of(self.b); })
        .def_readonly("dashed", &Line::dashed)
        .def_readonly("net", &Line::net);
    shape_class<Polyline>(module, "Polyline", "Straight lines from point to point.")
        .def_property_readonly("points",
                               [](const Polyline &self) {
                                   py::list points;
                                   for (const Point p : self.points)
                                       points.append(pair_of(p));
                                   return points;
                               })
        .def_readonly("closed", &Polyline::closed)
        .def_readonly("dashed", &Polyline::dashed);
    shape_class<Circle>(module, "Circle", "A circle, or a dot.")
        .def_property_readonly("centre", [](const Circle &self) { return pair_of(self.centre); })
        .def_readonly("radius_mm", &Circle::radius_mm)
        .def_readonly("filled", &Circle::filled);
    shape_class<Arc>(module, "Arc", "Part of a circle, counter-clockwise.")
        .def_property_readonly("centre", [](const Arc &self) { return pair_of(self.centre); })
        .def_readonly("radius_mm", &Arc::radius_mm)
        .def_readonly("start_deg", &Arc::start_deg)
        .def_readonly("end_deg", &Arc::end_deg);
    shape_class<Text>(module, "Text", "One line of text; `at` is the left, middle or right end of its baseline.")
        .def_property_readonly("at", [](const Text &self) { return pair_of(self.at); })
        .def_readonly("height_mm", &Text::height_mm)
        .def_readonly("text", &Text::text)
        .def_property_readonly("align", [](const Text &self) { return word(self.align); })
        .def_readonly("upright", &Text::upright);
}

void register_sheets(py::module_ &module) {
    py::class_<Symbol>(module, "Symbol", "A symbol drawn once, around its origin, and inserted many times.")
        .def_readonly("name", &Symbol::name)
        .def_readonly("shape", &Symbol::shape)
        .def_property_readonly(
            "connection_points",
            [](const Symbol &self) {
                py::dict points;
                for (const auto &[name, at] : self.connection_points)
                    points[py::str(name)] = pair_of(at);
                return points;
            },
            "Places of attributes: \"TERMINAL_1\" is the terminal which that attribute names.")
        .def_readonly("attributes", &Symbol::attributes);
    py::class_<Insert>(module, "Insert", "A symbol placed on a sheet. What is to be read of it is also a text.")
        .def_readonly("symbol", &Insert::symbol)
        .def_property_readonly("at", [](const Insert &self) { return pair_of(self.at); })
        .def_readonly("attributes", &Insert::attributes)
        .def_property_readonly("layer", [](const Insert &self) { return to_text(self.layer); });
    py::class_<Sheet>(module, "Sheet", "One A3 sheet, landscape, 420 x 297 mm.")
        .def_readonly("number", &Sheet::number)
        .def_readonly("title", &Sheet::title)
        .def_readonly("primitives", &Sheet::primitives)
        .def_readonly("inserts", &Sheet::inserts);
    py::class_<WiredDevice>(module, "WiredDevice", "A device of the circuit drawn, as its wiring table says.")
        .def_readonly("designation", &WiredDevice::designation)
        .def_readonly("kind", &WiredDevice::kind)
        .def_property_readonly(
            "terminals", [](const WiredDevice &self) { return dict_of(self.terminals); }, "Terminal and net.")
        .def_property_readonly(
            "parameters", [](const WiredDevice &self) { return dict_of(self.parameters); }, "Name and value as text.");
}

} // namespace

void register_drawing(py::module_ &module) {
    register_primitives(module);
    register_sheets(module);
    py::class_<Drawing>(module, "Drawing", "Sheets ready for an exporter.")
        .def_readonly("name", &Drawing::name)
        .def_property_readonly(
            "titles",
            [](const Drawing &self) {
                std::vector<std::pair<std::string, std::string>> titles;
                for (const Sheet &sheet : self.sheets)
                    titles.emplace_back(sheet.number, sheet.title);
                return titles;
            },
            "Number and title of each sheet.")
        .def_readonly("symbols", &Drawing::symbols, "Each symbol that a sheet uses.")
        .def_readonly("sheets", &Drawing::sheets, "What is on each sheet.")
        .def_readonly("netlist", &Drawing::netlist,
                      "The whole circuit that is drawn, also when only some of its sheets are here.")
        .def("__len__", [](const Drawing &self) { return self.sheets.size(); })
        .def(
            "__getitem__",
            [](const Drawing &self, std::size_t index) {
                if (index >= self.sheets.size())
                    throw py::index_error("no sheet " + std::to_string(index) + "; the drawing has " +
                                          std::to_string(self.sheets.size()));
                return one_sheet(self, index);
            },
            "index"_a, "A drawing of that one sheet, counted from 0.")
        .def("_repr_svg_", &svg_of)
        .def("__repr__", [](const Drawing &self) {
            return "<Drawing " + self.name + ": " + std::to_string(self.sheets.size()) + " sheets>";
        });
}

} // namespace stopspan::python
