#include "stopspan/overload.hpp"

#include "base/number_text.hpp"
#include "base/words.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace stopspan {
namespace {

constexpr double resistance_between = 0.25, heater_share = 0.05; // assumed, see the header
constexpr double ultimate_trip = 1.125;
constexpr double reset_share = 0.5; // of the trip point, assumed
constexpr double class_multiple = 7.2;
constexpr std::size_t most_steps = 100'000;

constexpr std::array<std::string_view, 3> positions{"fastest", "middle", "slowest"};

constexpr std::string_view table_2 =
    "IEC 60947-4-1 table 2 (as makers' manuals print it); hot limit at 1.5 times the setting from memory";
constexpr std::string_view from_memory = "IEC 60947-4-1 table 2 (from memory)";
// Band E lies inside the standard one; its hot limit is that of the class.
constexpr std::array<TripClass, 9> classes{{
    {"5", 0.5, 5, 120, from_memory},
    {"10A", 2, 10, 120, table_2},
    {"10", 4, 10, 240, table_2},
    {"20", 6, 20, 480, table_2},
    {"30", 9, 30, 720, table_2},
    {"5E", 3, 5, 120, table_2},
    {"10E", 5, 10, 240, table_2},
    {"20E", 10, 20, 480, from_memory},
    {"30E", 20, 30, 720, from_memory},
}};

using Heat = OverloadHeat;

/// The two bodies with given capacities, in closed form.
class Bodies {
public:
    Bodies(double heater_s, double bimetal_s)
        : a_(-1 / (resistance_between * heater_s)), b_(-a_), c_(1 / (resistance_between * bimetal_s)),
          d_(-(1 / resistance_between + 1) / bimetal_s) {
        const double middle = (a_ + d_) / 2, root = std::sqrt((a_ - d_) * (a_ - d_) / 4 + b_ * c_);
        slow_ = middle + root;
        fast_ = middle - root;
    }

    static Heat steady(double power) { return {power * (1 + resistance_between), power}; }

    Heat after(Heat from, double power, double seconds) const {
        const Heat end = steady(power);
        const Heat slow = part(from, end, slow_, fast_), fast = part(from, end, fast_, slow_);
        const double es = std::exp(slow_ * seconds), ef = std::exp(fast_ * seconds);
        return {end.heater + es * slow.heater + ef * fast.heater, end.bimetal + es * slow.bimetal + ef * fast.bimetal};
    }

    /// First time at which the bimetal passes `level` upwards (or downwards), or nothing.
    std::optional<double> passes(double level, bool upwards, Heat from, double power) const {
        const double sign = upwards ? 1 : -1;
        const auto beyond = [&](double seconds) { return sign * (after(from, power, seconds).bimetal - level); };
        if (beyond(0) >= 0)
            return 0;
        // Two exponentials turn round at most once: up to there, and after it, the way is one-sided.
        const Heat end = steady(power);
        const double s = slow_ * part(from, end, slow_, fast_).bimetal,
                     f = fast_ * part(from, end, fast_, slow_).bimetal;
        if (s * f < 0) {
            const double turn = std::log(-f / s) / (slow_ - fast_);
            if (turn > 0 && beyond(turn) >= 0)
                return between(beyond, 0, turn);
        }
        if (sign * (end.bimetal - level) <= 0)
            return std::nullopt;
        double late = -1 / slow_;
        while (beyond(late) < 0)
            late *= 2;
        return between(beyond, 0, late);
    }

private:
    // Share of the difference to the end that decays with `own`.
    Heat part(Heat from, Heat end, double own, double other) const {
        const double h = from.heater - end.heater, b = from.bimetal - end.bimetal, scale = 1 / (own - other);
        return {scale * ((a_ - other) * h + b_ * b), scale * (c_ * h + (d_ - other) * b)};
    }

    template <class Beyond>
    static double between(const Beyond &beyond, double early, double late) {
        for (int i = 0; i < 200 && late - early > 1e-12 * late; ++i) {
            const double middle = (early + late) / 2;
            (beyond(middle) < 0 ? early : late) = middle;
        }
        return late;
    }

    double a_, b_, c_, d_;
    double slow_, fast_; ///< both negative
};

// A relay just outside its band would be none of its class: the lower limit itself is not allowed.
double time_in_class_s(const TripClass &of, ClassPosition position) {
    switch (position) {
    case ClassPosition::fastest:
        return of.above_s * 1.001;
    case ClassPosition::slowest:
        return of.within_s;
    case ClassPosition::middle:
        break;
    }
    return std::sqrt(of.above_s * of.within_s);
}

void check(std::string_view what, double value, bool zero_allowed) {
    if (!std::isfinite(value) || value < 0 || (value == 0 && !zero_allowed))
        throw Error(ErrorCode::bad_value,
                    std::string(what) + " must be a finite number " + (zero_allowed ? "from 0 on" : "above 0"));
}

} // namespace

std::string_view to_text(ClassPosition position) {
    return positions[static_cast<std::size_t>(position)];
}
ClassPosition class_position(std::string_view text) {
    return from_word<ClassPosition>(positions, text, "position in a trip class");
}

std::span<const TripClass> trip_classes() {
    return classes;
}

const TripClass &trip_class(std::string_view name) {
    std::vector<std::string_view> known;
    for (const TripClass &each : classes) {
        if (each.name == name)
            return each;
        known.push_back(each.name);
    }
    throw Error(ErrorCode::bad_value, "no trip class '" + std::string(name) + "'; known: " + listed(known));
}

OverloadModel::OverloadModel(double setting_a, std::string_view class_name, ClassPosition position)
    : setting_a_(setting_a) {
    check("the setting of an overload", setting_a, false);
    // Time scales with the capacities: the trip time of bodies with 1 s says how much larger they must be.
    static const double unit_s =
        *Bodies(heater_share, 1).passes(ultimate_trip * ultimate_trip, true, {}, class_multiple * class_multiple);
    bimetal_s_ = time_in_class_s(stopspan::trip_class(class_name), position) / unit_s;
    heater_s_ = heater_share * bimetal_s_;
}

double OverloadModel::trip_point() const {
    return ultimate_trip * ultimate_trip;
}

double OverloadModel::resistance() {
    return resistance_between;
}

Heat OverloadModel::after_long_at(double current_a) const {
    check("a current", current_a, true);
    return Bodies::steady(current_a * current_a / (setting_a_ * setting_a_));
}

Heat OverloadModel::after(Heat from, double current_a, double seconds) const {
    check("a current", current_a, true);
    check("a time", seconds, true);
    return Bodies(heater_s_, bimetal_s_).after(from, current_a * current_a / (setting_a_ * setting_a_), seconds);
}

std::optional<double> OverloadModel::trip_time_s(double current_a, Heat from) const {
    check("a current", current_a, true);
    return Bodies(heater_s_, bimetal_s_)
        .passes(trip_point(), true, from, current_a * current_a / (setting_a_ * setting_a_));
}

double OverloadModel::reset_time_s(Heat from) const {
    return Bodies(heater_s_, bimetal_s_).passes(reset_share * trip_point(), false, from, 0).value();
}

OverloadReplay replay_overload(const OverloadModel &model, std::span<const CurrentStep> profile, Heat heat) {
    constexpr int points_per_step = 20;
    if (profile.size() > most_steps)
        throw Error(ErrorCode::bad_value, "a profile has at most " + std::to_string(most_steps) + " steps");
    OverloadReplay replay;
    replay.trip_point = model.trip_point();
    double time_s = 0;
    const auto run = [&](double seconds, double current_a) {
        const Heat start = heat;
        for (int i = 0; i <= points_per_step; ++i) {
            const double share = static_cast<double>(i) / points_per_step; // closer at first, where most changes
            const double passed_s = seconds * share * share * share;
            heat = model.after(start, current_a, passed_s);
            replay.points.push_back({time_s + passed_s, current_a, heat.heater, heat.bimetal});
        }
        time_s += seconds;
    };
    for (const CurrentStep &step : profile) {
        check("the time of a step", step.seconds, true);
        check("the current of a step", step.current_a, true);
        const double current_a = replay.trip_s ? 0 : step.current_a;
        const auto trips_after_s = replay.trip_s ? std::nullopt : model.trip_time_s(current_a, heat);
        if (!trips_after_s || *trips_after_s > step.seconds) {
            run(step.seconds, current_a);
            continue;
        }
        run(*trips_after_s, current_a);
        replay.trip_s = time_s;
        replay.reset_s = time_s + model.reset_time_s(heat);
        run(step.seconds - *trips_after_s, 0);
    }
    return replay;
}

} // namespace stopspan
