#include "bindings.hpp"

#include "stopspan/error.hpp"
#include "stopspan/exporter.hpp"

#include <pybind11/stl.h>

namespace stopspan::python {

using namespace py::literals;

namespace {

// An exporter written in Python: an object with `name`, `suffixes` and `write(drawing, out)`, where `out` is a stream
// of bytes.
class PythonExporter final : public Exporter {
public:
    /// @throws Error (no_exporter) saying what the object lacks
    explicit PythonExporter(py::object object)
        : object_(std::move(object)), name_(attribute<std::string>("name", "text")),
          suffixes_(attribute<std::vector<std::string>>("suffixes", "a list or tuple of text")) {
        if (!py::hasattr(object_, "write") || !PyCallable_Check(py::object(object_.attr("write")).ptr()))
            refuse("it has no method write(drawing, out)");
        suffix_views_.assign(suffixes_.begin(), suffixes_.end());
    }
    std::string_view name() const noexcept override { return name_; }
    std::span<const std::string_view> suffixes() const noexcept override { return suffix_views_; }

    void write(const Drawing &drawing, ByteSink &out) const override {
        py::gil_scoped_acquire locked;
        try {
            const py::object stream = py::module_::import("io").attr("BytesIO")();
            object_.attr("write")(py::cast(drawing), stream); // a copy: it may be kept
            const py::object bytes = stream.attr("getvalue")();
            out.write(bytes.cast<std::string_view>());
        } catch (const py::error_already_set &error) {
            // Said at once: whoever catches it may not hold the interpreter.
            throw std::runtime_error(py::str(error.type().attr("__name__")).cast<std::string>() + ": " +
                                     py::str(error.value()).cast<std::string>());
        }
    }

private:
    [[noreturn]] void refuse(const std::string &why) const {
        throw Error(ErrorCode::no_exporter, py::repr(object_).cast<std::string>() + " is no exporter: " + why);
    }
    template <class T>
    T attribute(const char *name, const char *what) const {
        if (!py::hasattr(object_, name))
            refuse(std::string("it has no ") + name);
        const py::object value = object_.attr(name);
        try {
            if constexpr (!std::is_same_v<T, std::string>)
                if (py::isinstance<py::str>(value)) // would be read letter by letter
                    refuse(std::string("its ") + name + " must be " + what);
            return value.cast<T>();
        } catch (const py::cast_error &) {
            refuse(std::string("its ") + name + " must be " + what);
        }
    }

    py::object object_;
    std::string name_;
    std::vector<std::string> suffixes_;
    std::vector<std::string_view> suffix_views_;
};

// Never destroyed: exporters are code of shared libraries or of an interpreter, which may be gone before this is.
ExporterRegistry &bare_registry() {
    static ExporterRegistry &known = *new ExporterRegistry;
    return known;
}

} // namespace

ExporterRegistry &registry() {
    py::module_::import("stopspan.plugins").attr("load_once")();
    return bare_registry();
}

void register_exporter(py::module_ &module, py::class_<Circuit> &circuit, py::class_<Installation> &installation) {
    module.def(
        "formats", [] { return registry().names(); }, "Names of the drawing formats that can be exported.");
    module.def(
        "load_exporters",
        [](const py::object &folder) {
            for (const std::string &unusable : registry().load_folder(to_path(folder)))
                if (PyErr_WarnEx(PyExc_RuntimeWarning, unusable.c_str(), 1) != 0)
                    throw py::error_already_set();
        },
        "folder"_a,
        "Load every exporter of a folder of shared libraries.\n\nOne that cannot be used becomes a warning that names "
        "it.");
    module.def(
        "add_exporter",
        [](py::object exporter) { registry().add(std::make_shared<PythonExporter>(std::move(exporter))); },
        "exporter"_a,
        "Add an exporter written in Python, see `stopspan.plugins.Exporter`.\n\n"
        "Raises:\n    ModelError: It is none, or its name or a suffix is taken.");
    module.def(
        "render",
        [](const Drawing &drawing, const std::string &format) {
            const Exporter &exporter = registry().find(format);
            std::string bytes;
            {
                py::gil_scoped_release unlocked;
                bytes = exported(exporter, drawing);
            }
            return py::bytes(bytes);
        },
        "drawing"_a, "format"_a, "A drawing as bytes.\n\nRaises:\n    ModelError: No such format.");

    static constexpr const char *doc =
        "Write a file: drawings (see `formats`), \"xml\" the installation file, \"csv\" the wiring table.\n\n"
        "Args:\n    path: Where to; the suffix tells the format unless it is given.\n    format: Its name.\n"
        "    each_sheet: A file for each sheet of a drawing, its number added to the name: \"plan-03.svg\".\n\n"
        "Raises:\n    ModelError: No such format.\n    FileError: The file cannot be written.";
    const auto export_installation = [](const Installation &self, const py::object &path,
                                        const std::optional<std::string> &format, bool each_sheet) {
        const Installation copy = self;
        const std::string to = to_path(path);
        ExporterRegistry &known = registry();
        py::gil_scoped_release unlocked;
        copy.export_to(to, known, {format.value_or(""), each_sheet});
    };
    installation
        .def("export", export_installation, "path"_a, "format"_a = py::none(), py::kw_only(), "each_sheet"_a = false,
             doc)
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
            [export_installation](const Circuit &self, const py::object &path, const std::optional<std::string> &format,
                                  bool each_sheet) {
                Installation alone(stem_of(to_path(path)));
                alone.recorded = self;
                export_installation(alone, path, format, each_sheet);
            },
            "path"_a, "format"_a = py::none(), py::kw_only(), "each_sheet"_a = false, doc)
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
