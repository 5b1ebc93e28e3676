#include "bindings.hpp"

#include "stopspan/drawing.hpp"

#include <pybind11/stl.h>

namespace stopspan::python {

using namespace py::literals;

namespace {

py::object svg_of(const py::object &self) {
    return py::module_::import("stopspan.display").attr("drawing_svg")(self);
}

// A drawing of one sheet. Symbols the sheet does not use do no harm.
Drawing only(const Drawing &drawing, std::size_t index) {
    return {drawing.name, drawing.symbols, {drawing.sheets.at(index)}};
}

} // namespace

void register_drawing(py::module_ &module) {
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
        .def("__len__", [](const Drawing &self) { return self.sheets.size(); })
        .def(
            "__getitem__",
            [](const Drawing &self, std::size_t index) {
                if (index >= self.sheets.size())
                    throw py::index_error("no sheet " + std::to_string(index) + "; the drawing has " +
                                          std::to_string(self.sheets.size()));
                return only(self, index);
            },
            "index"_a, "A drawing of that one sheet, counted from 0.")
        .def("_repr_svg_", &svg_of)
        .def("__repr__", [](const Drawing &self) {
            return "<Drawing " + self.name + ": " + std::to_string(self.sheets.size()) + " sheets>";
        });
}

} // namespace stopspan::python
