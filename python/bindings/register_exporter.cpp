#include "bindings.hpp"

#include "stopspan/exporter.hpp"

#include <pybind11/stl.h>

#include <filesystem>

namespace stopspan::python {

using namespace py::literals;

namespace {

struct TextSink final : ByteSink {
    std::string bytes;
    void write(std::string_view more) override { bytes += more; }
};

void load(ExporterRegistry &into, const std::string &folder) {
    for (const std::string &unusable : into.load_folder(folder))
        if (PyErr_WarnEx(PyExc_RuntimeWarning, unusable.c_str(), 2) != 0)
            throw py::error_already_set();
}

} // namespace

ExporterRegistry &registry() {
    static ExporterRegistry &known = []() -> ExporterRegistry & {
        // Never destroyed: exporters are code of shared libraries, which may be gone before this is.
        auto *made = new ExporterRegistry;
        const auto file = py::module_::import("stopspan._core").attr("__file__").cast<std::string>();
        const auto folder = std::filesystem::path(file).parent_path() / "exporters";
        if (std::filesystem::is_directory(folder))
            load(*made, folder.string());
        return *made;
    }();
    return known;
}

void register_exporter(py::module_ &module, py::class_<Circuit> &circuit, py::class_<Installation> &installation) {
    module.def(
        "formats", [] { return registry().names(); }, "Names of the drawing formats that can be exported.");
    module.def(
        "load_exporters", [](const py::object &folder) { load(registry(), to_path(folder)); }, "folder"_a,
        "Load every exporter of a folder.\n\nOne that cannot be used becomes a warning that names it.");
    module.def(
        "render",
        [](const Drawing &drawing, const std::string &format) {
            TextSink sink;
            registry().find(format).write(drawing, sink);
            return py::bytes(sink.bytes);
        },
        "drawing"_a, "format"_a, "A drawing as bytes.\n\nRaises:\n    ModelError: No such format.");

    static constexpr const char *doc =
        "Write a file: drawings (see `formats`), \"xml\" the installation file, \"csv\" the wiring table.\n\n"
        "Args:\n    path: Where to; the suffix tells the format unless it is given.\n\n"
        "Raises:\n    ModelError: No such format.\n    FileError: The file cannot be written.";
    const auto export_installation = [](const Installation &self, const py::object &path,
                                        const std::optional<std::string> &format) {
        const Installation copy = self;
        const std::string to = to_path(path);
        ExporterRegistry &known = registry();
        py::gil_scoped_release unlocked;
        copy.export_to(to, known, format.value_or(""));
    };
    installation.def("export", export_installation, "path"_a, "format"_a = py::none(), doc)
        .def(
            "drawing",
            [](const Installation &self) {
                const Installation copy = self;
                py::gil_scoped_release unlocked;
                return copy.drawing();
            },
            "All sheets. In a notebook it shows itself.");
    circuit
        .def(
            "export",
            [export_installation](const Circuit &self, const py::object &path,
                                  const std::optional<std::string> &format) {
                Installation alone(stem_of(to_path(path)));
                alone.recorded = self;
                export_installation(alone, path, format);
            },
            "path"_a, "format"_a = py::none(), doc)
        .def(
            "drawing",
            [](const Circuit &self) {
                Installation alone("circuit");
                alone.recorded = self;
                py::gil_scoped_release unlocked;
                return alone.drawing();
            },
            "Power, control and matrix sheets of this circuit alone.")
        .def("_repr_svg_", [](const py::object &self) {
            return py::module_::import("stopspan.display").attr("drawing_svg")(self.attr("drawing")());
        });
}

} // namespace stopspan::python
