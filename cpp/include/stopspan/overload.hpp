#pragma once

#include <optional>
#include <span>
#include <string_view>
#include <vector>

namespace stopspan {

/// Where in the tolerance band of its trip class a relay lies.
enum class ClassPosition {
    fastest, ///< trips as early as the class allows: decides whether a start gets through
    middle,
    slowest, ///< as late as it allows: decides how long a stalled motor burns
};
std::string_view to_text(ClassPosition position);
ClassPosition class_position(std::string_view text); ///< @throws Error (bad_value)

/// Trip time limits of a class at 7.2 times the setting from cold, IEC 60947-4-1 table 2.
struct TripClass {
    std::string_view name; ///< "10A"
    double above_s;        ///< exclusive
    double within_s;       ///< inclusive
    double hot_within_s;   ///< at 1.5 times the setting, from warm
    std::string_view source;
};
std::span<const TripClass> trip_classes();
/// @throws Error (bad_value) that lists the known classes
const TripClass &trip_class(std::string_view name);

/// Rises over ambient of the two bodies below.
struct OverloadHeat {
    double heater = 0, bimetal = 0;
};

/// A thermal overload relay as two bodies: a heater that carries the current and the bimetal it heats.
///     c1 dh/dt = (I/Iset)^2 - (h - b)/r        c2 db/dt = (h - b)/r - b        trips at b = 1.125^2
/// h and b are rises over ambient; b is 1 after long at the setting. r = 0.25 and c1/c2 = 0.05, both assumed; c2 is
/// such that the relay trips at 7.2 times its setting from cold where its class has it. 1.125 lies in the middle of
/// 1.05 to 1.20, which IEC 60947-4-1 leaves for the ultimate trip current.
/// Leaves out: ambient (taken as compensated), unequal phases, heat of neighbours. No maker's curve.
class OverloadModel {
public:
    using Heat = OverloadHeat;
    /// @throws Error (bad_value) unless setting_a is finite and above 0, and the class known
    OverloadModel(double setting_a, std::string_view trip_class, ClassPosition position = ClassPosition::middle);

    static Heat cold() { return {}; }
    /// After long at a current. @throws Error (bad_value) unless finite and not negative
    Heat after_long_at(double current_a) const;
    Heat warm() const { return after_long_at(setting_a_); }
    /// After `seconds` at a current. The equations are linear, so this is exact however long the step.
    Heat after(Heat from, double current_a, double seconds) const;
    /// When the bimetal first reaches the trip point at this current, or nothing if it never does.
    std::optional<double> trip_time_s(double current_a, Heat from = {}) const;
    /// When it has cooled so far that it can be reset, without current: down to half of the trip point, assumed.
    double reset_time_s(Heat from) const;
    double trip_point() const;
    double setting_a() const { return setting_a_; }
    /// Bodies' capacities in seconds, and the resistance between them: for whoever solves the equations otherwise.
    double heater_s() const { return heater_s_; }
    double bimetal_s() const { return bimetal_s_; }
    static double resistance();

private:
    double setting_a_, heater_s_, bimetal_s_;
};

/// A stretch of time with one current.
struct CurrentStep {
    double seconds, current_a;
};
/// What became of the relay along a profile.
struct OverloadReplay {
    struct Point {
        double time_s, current_a, heater, bimetal;
    };
    std::vector<Point> points; ///< for a plot: ends of every step, and times between
    double trip_point = 0;
    std::optional<double> trip_s;  ///< the current is off from then on
    std::optional<double> reset_s; ///< from when on it can be reset
};
/// @param from  OverloadModel::cold(), warm() or what an earlier replay left
/// @throws Error (bad_value) for a step whose time or current is not finite or negative, or more than 100,000 steps
OverloadReplay replay_overload(const OverloadModel &model, std::span<const CurrentStep> profile,
                               OverloadHeat from = {});

} // namespace stopspan
