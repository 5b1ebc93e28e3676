#include "base/number_text.hpp"
#include "sheets/frame.hpp"
#include "sheets/sheet_pen.hpp"
#include "stopspan/sheets.hpp"

#include <algorithm>
#include <cmath>

namespace stopspan {
namespace {

constexpr double left_mm = 45, right_mm = 380;
constexpr Box current_panel{left_mm, 185, right_mm, 265}, heat_panel{left_mm, 75, right_mm, 165};
constexpr int most_steps = 8;

// The least of 1, 2, 5, 10, 20 ... that cuts a range into few steps.
double step_of(double range) {
    double step = std::pow(10, std::floor(std::log10(range / most_steps)));
    for (const double factor : {2.0, 2.5, 2.0})
        if (range / step > most_steps)
            step *= factor;
    return step;
}

/// One quantity over time, from 0 up, in a box with its scales.
class Panel {
public:
    Panel(Sheet &sheet, const Box &box, double last_s, double most)
        : pen_(sheet, Layer::references), sheet_(sheet), box_(box), last_s_(last_s > 0 ? last_s : 1),
          step_(step_of(most > 0 ? most : 1)), top_(step_ * std::ceil(1.05 * (most > 0 ? most : 1) / step_)) {}

    void scales(const std::string &quantity) {
        pen_.box(box_);
        for (double value = 0; value <= top_ * (1 + 1e-9); value += step_) {
            pen_.line({box_.left - 1.5, y_mm(value)}, {box_.left, y_mm(value)});
            pen_.text({box_.left - 2.5, y_mm(value) - 1}, small_text_mm, format_number(rounded(value)), Align::right);
        }
        const double seconds = step_of(last_s_);
        for (double time_s = 0; time_s <= last_s_ * (1 + 1e-9); time_s += seconds) {
            pen_.line({x_mm(time_s), box_.bottom}, {x_mm(time_s), box_.bottom - 1.5});
            pen_.text({x_mm(time_s), box_.bottom - 5}, small_text_mm, format_number(rounded(time_s)), Align::centre);
        }
        pen_.text({box_.right, box_.bottom - 9}, small_text_mm, "time, s", Align::right);
        pen_.text({box_.left, box_.top + 2}, normal_text_mm, quantity);
    }

    template <class Value>
    void curve(const std::vector<OverloadReplay::Point> &points, bool dashed, Value &&value) {
        constexpr double finest_mm = 0.05; // what lies closer is not seen
        Polyline line{{}, false, Layer::wires, dashed};
        for (std::size_t i = 0; i < points.size(); ++i) {
            const Point at{x_mm(points[i].time_s), y_mm(value(points[i]))};
            if (line.points.empty() || i + 1 == points.size() ||
                std::hypot(at.x_mm - line.points.back().x_mm, at.y_mm - line.points.back().y_mm) > finest_mm)
                line.points.push_back(at);
        }
        if (line.points.size() > 1)
            sheet_.primitives.emplace_back(std::move(line));
    }

    void level(double value, const std::string &words) {
        pen_.line({box_.left, y_mm(value)}, {box_.right, y_mm(value)}, true);
        pen_.text({box_.right - 1, y_mm(value) + 1}, small_text_mm, words, Align::right);
    }
    void moment(double time_s, const std::string &words, double drop_mm) {
        if (time_s > last_s_)
            return;
        pen_.line({x_mm(time_s), box_.bottom}, {x_mm(time_s), box_.top}, true);
        const bool at_right = x_mm(time_s) > (box_.left + box_.right) / 2;
        pen_.text({x_mm(time_s) + (at_right ? -1.5 : 1.5), box_.top - drop_mm}, small_text_mm, words,
                  at_right ? Align::right : Align::left);
    }

private:
    static double rounded(double value) { return std::round(value * 1e6) / 1e6; }
    double x_mm(double time_s) const { return box_.left + (box_.right - box_.left) * time_s / last_s_; }
    double y_mm(double value) const { return box_.bottom + (box_.top - box_.bottom) * value / top_; }

    SheetPen pen_;
    Sheet &sheet_;
    Box box_;
    double last_s_, step_, top_;
};

} // namespace

Drawing draw(const OverloadReplay &replay, const std::string &title) {
    Sheet sheet{.number = "1", .title = "Current and heat of an overload", .primitives = {}, .inserts = {}};
    double last_s = 0, most_a = 0, most_heat = replay.trip_point;
    for (const OverloadReplay::Point &point : replay.points) {
        last_s = std::max(last_s, point.time_s);
        most_a = std::max(most_a, point.current_a);
        most_heat = std::max({most_heat, point.heater, point.bimetal});
    }
    Panel current(sheet, current_panel, last_s, most_a), heat(sheet, heat_panel, last_s, most_heat);
    current.scales("Current, A");
    current.curve(replay.points, false, [](const OverloadReplay::Point &point) { return point.current_a; });
    heat.scales("Rise over ambient, 1 after long at the setting: bimetal (full line), heater (dashed)");
    heat.curve(replay.points, false, [](const OverloadReplay::Point &point) { return point.bimetal; });
    heat.curve(replay.points, true, [](const OverloadReplay::Point &point) { return point.heater; });
    heat.level(replay.trip_point, "trip point");
    if (replay.trip_s)
        current.moment(*replay.trip_s, "trips after " + format_fixed(*replay.trip_s, 1) + " s", 4);
    if (replay.reset_s)
        heat.moment(*replay.reset_s, "can be reset from " + format_fixed(*replay.reset_s, 1) + " s", 4);
    Drawing drawing;
    drawing.name = title;
    add_frame(sheet, {}, {title, "Chart", "", 1, 1});
    drawing.sheets.push_back(std::move(sheet));
    drawing.symbols = used_symbols(drawing.sheets);
    return drawing;
}

} // namespace stopspan
