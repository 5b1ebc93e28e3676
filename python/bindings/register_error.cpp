#include "bindings.hpp"

#include "stopspan/error.hpp"

namespace stopspan::python {
namespace {

py::object new_class(py::module_ &module, const char *name, const char *doc, const py::handle &base) {
    const std::string full = "stopspan." + std::string(name);
    py::object made =
        py::reinterpret_steal<py::object>(PyErr_NewExceptionWithDoc(full.c_str(), doc, base.ptr(), nullptr));
    if (!made)
        throw py::error_already_set();
    module.attr(name) = made;
    return made;
}

py::object code_of(const Error &error) {
    return py::module_::import("stopspan.words").attr("ErrorCode")(static_cast<int>(error.code()));
}

void raise(const char *type_name, const Error &error, const FileError *file) {
    py::object type = py::module_::import("stopspan._core").attr(type_name);
    py::object instance = type(error.what());
    instance.attr("code") = code_of(error);
    if (file) {
        instance.attr("file") = file->file();
        instance.attr("line") = file->line();
    }
    PyErr_SetObject(type.ptr(), instance.ptr());
}

} // namespace

void register_error(py::module_ &module) {
    const py::object model = new_class(module, "ModelError",
                                       "A mistake of the caller or of a file; what was being changed is unchanged.\n\n"
                                       "`code` says of which kind it is.",
                                       PyExc_ValueError);
    new_class(module, "FileError", "A mistake met in a file: `file` and `line` (0: the whole file) say where.", model);

    py::register_exception_translator([](std::exception_ptr thrown) {
        try {
            if (thrown)
                std::rethrow_exception(thrown);
        } catch (const FileError &error) {
            raise("FileError", error, &error);
        } catch (const Error &error) {
            raise("ModelError", error, nullptr);
        }
    });
}

} // namespace stopspan::python
