#include "bindings.hpp"

#include "stopspan/error.hpp"

#include <filesystem>

namespace stopspan::python {
namespace {

std::string type_name(const py::handle &value) {
    return py::str(py::type::handle_of(value).attr("__name__"));
}

// Whatever Python takes for a real number: int, float and what numpy makes of them; not bool.
std::optional<double> real_number(const py::handle &value) {
    if (py::isinstance<py::bool_>(value) || !(PyFloat_Check(value.ptr()) || PyLong_Check(value.ptr()) ||
                                              py::hasattr(value, "__float__") || py::hasattr(value, "__index__")))
        return std::nullopt;
    const double number = PyFloat_AsDouble(value.ptr());
    if (number == -1.0 && PyErr_Occurred())
        throw py::error_already_set();
    return number;
}

} // namespace

Parameter to_parameter(std::string_view device, std::string_view name, const py::handle &value) {
    if (value.is_none() && name == "earthed_pole")
        return "none";
    if (py::isinstance<py::bool_>(value))
        return value.cast<bool>();
    if (py::isinstance<py::str>(value))
        return value.cast<std::string>();
    if (const auto number = real_number(value))
        return *number;
    throw Error(ErrorCode::bad_value, std::string(device) + ": " + std::string(name) +
                                          " must be a number, True, False or a text, not " + type_name(value));
}

Parameters to_parameters(std::string_view device, const py::dict &values) {
    Parameters parameters;
    for (const auto &[key, value] : values) {
        const auto name = key.cast<std::string>();
        if (!value.is_none() || name == "earthed_pole")
            parameters.emplace(name, to_parameter(device, name, value));
    }
    return parameters;
}

py::dict from_parameters(const Parameters &parameters) {
    py::dict values;
    for (const auto &[name, value] : parameters)
        values[py::str(name)] = std::visit([](const auto &each) -> py::object { return py::cast(each); }, value);
    return values;
}

std::vector<Connection> to_connections(const std::string &device, const py::dict &terminals) {
    std::vector<Connection> connections;
    for (const auto &[terminal, net] : terminals) {
        if (!py::isinstance<py::str>(terminal) || !py::isinstance<py::str>(net))
            throw Error(ErrorCode::bad_terminal, device + ": terminals and nets are text, as {\"13\": \"L1\"}, not " +
                                                     std::string(py::repr(terminal)) + ": " +
                                                     std::string(py::repr(net)));
        connections.push_back({terminal.cast<std::string>(), net.cast<std::string>()});
    }
    return connections;
}

Position to_position(const py::handle &value, const std::string &what) {
    if (py::isinstance<py::sequence>(value) && !py::isinstance<py::str>(value) && py::len(value) == 2) {
        const auto pair = py::reinterpret_borrow<py::sequence>(value);
        const auto x_m = real_number(pair[0]);
        const auto y_m = real_number(pair[1]);
        if (x_m && y_m)
            return {*x_m, *y_m};
    }
    throw Error(ErrorCode::bad_value, what + " must be two numbers, (x, y) in metres");
}

std::vector<std::string> to_names(const py::handle &value, const std::string &what) {
    if (py::isinstance<py::str>(value) || !py::isinstance<py::iterable>(value))
        throw Error(ErrorCode::bad_value, what + " must be a list of names, not " + type_name(value));
    std::vector<std::string> names;
    for (const py::handle each : py::reinterpret_borrow<py::iterable>(value)) {
        if (!py::isinstance<py::str>(each))
            throw Error(ErrorCode::bad_value, what + " must hold names only, not " + type_name(each));
        names.push_back(each.cast<std::string>());
    }
    return names;
}

std::string to_date(const py::handle &value) {
    if (py::isinstance<py::str>(value))
        return value.cast<std::string>();
    if (py::hasattr(value, "isoformat"))
        return value.attr("isoformat")().cast<std::string>();
    throw Error(ErrorCode::bad_value,
                "date must be a text as \"2026-11-26\" or a datetime.date, not " + type_name(value));
}

std::string to_path(const py::handle &path) {
    return py::module_::import("os").attr("fspath")(path).cast<std::string>();
}

std::string stem_of(const std::string &path) {
    return std::filesystem::path(path).stem().string();
}

} // namespace stopspan::python
