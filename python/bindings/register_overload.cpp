#include "bindings.hpp"

#include "stopspan/sheets.hpp"

#include <pybind11/stl.h>

namespace stopspan::python {

using namespace py::literals;

namespace {

std::vector<CurrentStep> to_profile(const py::iterable &profile) {
    std::vector<CurrentStep> steps;
    for (const py::handle each : profile) {
        const auto pair = each.cast<std::pair<double, double>>();
        steps.push_back({pair.first, pair.second});
    }
    return steps;
}

} // namespace

void register_overload(py::module_ &module) {
    py::class_<OverloadReplay> replay(module, "OverloadReplay", "What became of an overload along a profile.");
    py::class_<OverloadReplay::Point>(replay, "Point",
                                      "For a plot: heater and bimetal are rises over ambient; the "
                                      "bimetal is 1 after long at the setting.")
        .def_readonly("time_s", &OverloadReplay::Point::time_s)
        .def_readonly("current_a", &OverloadReplay::Point::current_a)
        .def_readonly("heater", &OverloadReplay::Point::heater)
        .def_readonly("bimetal", &OverloadReplay::Point::bimetal);
    replay.def_readonly("points", &OverloadReplay::points)
        .def_readonly("trip_point", &OverloadReplay::trip_point, "Rise of the bimetal at which it trips.")
        .def_readonly("trip_s", &OverloadReplay::trip_s, "None: it does not trip. The current is off from then on.")
        .def_readonly("reset_s", &OverloadReplay::reset_s, "From when on it can be reset.")
        .def(
            "drawing", [](const OverloadReplay &self, const std::string &title) { return draw(self, title); },
            "title"_a = "Overload", "One sheet with current and heat over time, to be rendered like any drawing.")
        .def("__repr__", [](const OverloadReplay &self) {
            return std::string("<OverloadReplay: ") +
                   (self.trip_s ? "trips after " + std::to_string(*self.trip_s) + " s" : "does not trip") + ">";
        });

    py::class_<OverloadModel>(module, "Overload",
                              "A thermal overload relay: heater and bimetal, within the limits of its trip class (IEC "
                              "60947-4-1). No maker's curve; ambient is taken as compensated.")
        .def(py::init([](double setting_a, const std::string &trip_class, const std::string &position) {
                 return OverloadModel(setting_a, trip_class, class_position(position));
             }),
             py::kw_only(), "setting_a"_a, "trip_class"_a = "10", "position"_a = "middle",
             "Args:\n    trip_class: \"5\", \"10A\", \"10\", \"20\", \"30\", and with E.\n    position: In the band of "
             "its class, \"fastest\", \"middle\" or \"slowest\".\n\nRaises:\n    ModelError: No such class or "
             "position, or no setting.")
        .def_property_readonly("setting_a", &OverloadModel::setting_a)
        .def_property_readonly("trip_point", &OverloadModel::trip_point)
        .def_property_readonly("heater_s", &OverloadModel::heater_s, "Heat capacity of the heater, seconds.")
        .def_property_readonly("bimetal_s", &OverloadModel::bimetal_s, "Of the bimetal.")
        .def_property_readonly(
            "resistance", [](const OverloadModel &) { return OverloadModel::resistance(); }, "Between the two.")
        .def(
            "trip_time_s",
            [](const OverloadModel &self, double current_a, double after_long_at_a) {
                return self.trip_time_s(current_a, self.after_long_at(after_long_at_a));
            },
            "current_a"_a, py::kw_only(), "after_long_at_a"_a = 0.0,
            "When it trips at this current; None: never. It starts cold, or as it is after long at another current.")
        .def(
            "replay",
            [](const OverloadModel &self, const py::iterable &profile, double after_long_at_a) {
                return replay_overload(self, to_profile(profile), self.after_long_at(after_long_at_a));
            },
            "profile"_a, py::kw_only(), "after_long_at_a"_a = 0.0,
            "Follow it along a profile of (seconds, amperes), one after the other. Once it trips the current is "
            "off.\n\nRaises:\n    ModelError: A step is negative or not finite, or there are more than 100,000.")
        .def("__repr__",
             [](const OverloadModel &self) { return "<Overload set to " + std::to_string(self.setting_a()) + " A>"; });
}

} // namespace stopspan::python
