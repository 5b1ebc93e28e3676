#include "bindings.hpp"

#include "stopspan/files.hpp"
#include "stopspan/installation.hpp"

#include <pybind11/stl.h>

namespace stopspan::python {

using namespace py::literals;

void register_lists(py::module_ &module, py::class_<Circuit> &circuit, py::class_<Installation> &installation) {
    py::class_<List>(module, "List", "A table of text; a number's unit stands in the name of its column.")
        .def_readonly("name", &List::name)
        .def_readonly("title", &List::title)
        .def_readonly("remark", &List::remark, "What a reader must know to use it; may be empty.")
        .def_readonly("columns", &List::columns)
        .def_readonly("rows", &List::rows)
        .def("to_csv", &write_list, "CSV (RFC 4180): the columns, then the rows.")
        .def("__len__", [](const List &self) { return self.rows.size(); })
        .def("__repr__", [](const List &self) {
            return "<List " + self.name + ": " + std::to_string(self.rows.size()) + " rows>";
        });
    static constexpr const char *doc =
        "Lists by name, from the circuit as wired: wires, terminals, cables, parts, settings, labels, "
        "commissioning.\n\n"
        "An empty field is a value nobody stated. Raises:\n    ModelError: What is described cannot be wired.";
    static constexpr const char *export_doc =
        "Write each list as a CSV file of its name, \"wires.csv\", into a folder, made when it is not there.\n\n"
        "Raises:\n    FileError: A file cannot be written.";
    const auto lists_of = [](const Installation &self) {
        const Installation copy = self;
        std::vector<List> lists;
        {
            py::gil_scoped_release unlocked;
            lists = copy.lists();
        }
        py::dict by_name;
        for (List &list : lists) {
            py::str name(list.name);
            by_name[name] = py::cast(std::move(list));
        }
        return by_name;
    };
    const auto write = [](const Installation &self, const py::object &folder) {
        const Installation copy = self;
        const std::string to = to_path(folder);
        py::gil_scoped_release unlocked;
        copy.export_lists(to);
    };
    const auto alone = [](const Circuit &circuit_alone) {
        Installation made("circuit");
        made.recorded = circuit_alone;
        return made;
    };
    installation.def("lists", lists_of, doc).def("export_lists", write, "folder"_a, export_doc);
    circuit
        .def(
            "lists", [=](const Circuit &self) { return lists_of(alone(self)); }, doc)
        .def(
            "export_lists", [=](const Circuit &self, const py::object &folder) { write(alone(self), folder); },
            "folder"_a, export_doc);
}

} // namespace stopspan::python
