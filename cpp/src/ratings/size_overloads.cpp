#include "base/number_text.hpp"
#include "ratings/ground.hpp"
#include "stopspan/overload.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace stopspan::ratings {
namespace {

/// Sizes of one overload.
class OverloadSizing {
public:
    OverloadSizing(Ground &ground, std::uint32_t index, const std::vector<Behind> &behind)
        : ground_(ground), device_(ground.device(index)), behind_(behind), load_(carried(ground, behind)),
          motor_(ground.motors[behind.front().path]), path_(ground.paths[behind.front().path]) {}

    void size() {
        if (load_.running_a <= 0)
            return;
        size_setting();
        if (ground_.motor_device(behind_.front().path).kind == DeviceKind::motor_1ph)
            size_poles();
        if (behind_.size() == 1) {
            size_class();
            size_stalled();
        }
    }

private:
    double share() const { return behind_.front().share; }

    void size_setting() {
        Size size{.subject = device_.designation,
                  .quantity = "overload setting",
                  .value = load_.running_a,
                  .unit = "A",
                  .formula = behind_.size() > 1 ? "sum I x share" : "I x share",
                  .inputs = load_.inputs,
                  .source = "IEC 60947-4-1; shares: star-delta wiring manuals (0.58 behind the split of the phases)"};
        if (behind_.size() > 1)
            size.remark = "It carries several motors: it protects none of them when it is loaded alone.";
        else if (path_.starts_in_star && share() == 1)
            size.remark =
                "In the line, ahead of the split: in star it lets 1.73 times the phase current through. Behind "
                "the split, at 0.58 times the current, it protects in star too.";
        const auto setting = device_.number("setting_a"), lowest = device_.number("lowest_setting_a"),
                   highest = device_.number("highest_setting_a");
        if (setting) {
            // Settings are scales with a step of a few percent; a typical motor's current is that of no plate, by as
            // much as the tables differ.
            const bool typical =
                std::ranges::any_of(behind_, [&](const Behind &each) { return ground_.motors[each.path].typical; });
            const bool one_phase = ground_.motor_device(behind_.front().path).kind == DeviceKind::motor_1ph;
            const double scale = !typical ? 0.05 : one_phase ? 0.2 : 0.12;
            if (typical)
                add_remark(size, "Of a typical motor: read the current on the plate and set that.");
            size.as_wired = *setting;
            size.inputs.push_back(from_device(device_, "setting_a", "A"));
            size.fit = !load_.complete                                     ? Fit::not_compared
                       : std::abs(*setting / load_.running_a - 1) <= scale ? Fit::fits
                                                                           : Fit::does_not_fit;
            if (size.fit == Fit::does_not_fit)
                add_remark(size, "Set it to " + amperes(load_.running_a) +
                                     (*setting > load_.running_a ? ": set as it is the motor may burn."
                                                                 : ": set as it is it trips in normal running."));
        } else {
            ground_.unknown(device_.designation, "setting_a", "whether it is set to " + amperes(load_.running_a));
        }
        if (lowest && highest) {
            size.inputs.push_back(from_device(device_, "lowest_setting_a", "A"));
            size.inputs.push_back(from_device(device_, "highest_setting_a", "A"));
            if (load_.running_a < *lowest || load_.running_a > *highest) {
                size.fit = Fit::does_not_fit;
                add_remark(size, "Its scale goes from " + amperes(*lowest) + " to " + amperes(*highest) +
                                     ": take another range.");
            }
        }
        ground_.add(std::move(size));
    }

    void size_poles() {
        Size size{.subject = device_.designation,
                  .quantity = "poles in series",
                  .value = 3,
                  .formula = "3 for one phase",
                  .inputs = {{"poles its current passes", static_cast<double>(behind_.front().poles), "", Origin::wired,
                              ground_.motor_device(behind_.front().path).designation}},
                  .source = "common practice; IEC 60947-4-1 (sensitive to the loss of a phase)"};
        const std::size_t wired = behind_.front().poles;
        std::size_t has = 0;
        for (const Contact &contact : contacts_of(device_))
            has += contact.sense == ContactSense::pole;
        size.as_wired = static_cast<double>(wired);
        if (has > wired) {
            size.fit = Fit::does_not_fit;
            size.remark =
                "Lead the line through all its poles one after the other: with one of three it trips late, or "
                "early where it watches for a lost phase.";
        } else if (wired >= 3) {
            size.fit = Fit::fits;
        } else {
            size.remark = "If it is an overload of three poles, lead the line through all of them.";
        }
        ground_.add(std::move(size));
    }

    // Fastest relay of each class against the start.
    void size_class() {
        if (motor_.start_a <= 0 || motor_.start == Start::by_drive)
            return;
        const double current_a = motor_.at_start_a(behind_.front());
        static constexpr std::array<std::string_view, 4> candidates{"10A", "10", "20", "30"};
        Size size{.subject = device_.designation,
                  .quantity = "trip class",
                  .value = 0,
                  .unit = "s",
                  .formula =
                      "the lowest class whose fastest relay, from cold, outlasts the start; value: when it trips",
                  .inputs = {computed("current while starting", current_a, "A", device_.designation),
                             computed("starting time", motor_.start_s, "s",
                                      ground_.motor_device(behind_.front().path).designation)},
                  .source = "two-body model within IEC 60947-4-1 table 2"};
        for (const std::string_view name : candidates) {
            const auto trips_s = OverloadModel(load_.running_a, name, ClassPosition::fastest).trip_time_s(current_a);
            if (!trips_s || *trips_s > motor_.start_s) {
                size.choice = "class " + std::string(name);
                size.value = trips_s.value_or(0);
                if (!trips_s)
                    size.remark = "It never trips at this current.";
                break;
            }
            size.rejected.push_back({"class " + std::string(name), "may trip after " + format_fixed(*trips_s, 1) +
                                                                       " s of a start of " +
                                                                       format_fixed(motor_.start_s, 1) + " s"});
        }
        if (size.choice.empty())
            size.remark = "No class outlasts this start: start it another way, or bridge the overload meanwhile.";
        if (const auto has = device_.word("trip_class")) {
            const auto trips_s = OverloadModel(load_.running_a, *has, ClassPosition::fastest).trip_time_s(current_a);
            size.fit = !trips_s || *trips_s > motor_.start_s ? Fit::fits : Fit::does_not_fit;
        } else {
            ground_.unknown(device_.designation, "trip_class",
                            "whether it outlasts the start; class 10 is taken for a stalled motor");
        }
        ground_.add(std::move(size));
    }

    void size_stalled() {
        const Device &motor = ground_.motor_device(behind_.front().path);
        if (motor.kind == DeviceKind::drive || motor_.start_a <= 0)
            return;
        const auto has = device_.word("trip_class");
        const std::string name(has.value_or("10"));
        const double setting_a = device_.number("setting_a").value_or(load_.running_a);
        // Stalled it takes its starting current in delta, or started direct.
        const double direct = motor_.start == Start::star_delta ? 3 : 1;
        const double current_a = load_.running_a * motor_.start_a * direct / motor_.rated_a;
        const OverloadModel model(setting_a, name, ClassPosition::slowest);
        const auto trips_s = model.trip_time_s(current_a, model.warm());
        Size size{.subject = device_.designation,
                  .quantity = "trip time, stalled from warm",
                  .value = trips_s.value_or(0),
                  .unit = "s",
                  .formula = "two-body model of the slowest relay of its class",
                  .inputs = {computed("stalled current", current_a, "A", motor.designation)},
                  .source = "two-body model within IEC 60947-4-1 table 2"};
        size.inputs.push_back(device_.number("setting_a")
                                  ? from_device(device_, "setting_a", "A")
                                  : assumed("setting_a", setting_a, "A", "set as it should be"));
        if (!has)
            size.inputs.push_back(assumed("trip class", 10, "", "class 10, usual"));
        if (!trips_s) {
            size.fit = Fit::does_not_fit;
            size.remark = "It never trips: set as it is it does not see the stalled motor.";
        }
        ground_.add(std::move(size));
    }

    Ground &ground_;
    const Device &device_;
    const std::vector<Behind> &behind_;
    Carried load_;
    const MotorSizes &motor_;
    const MotorPath &path_;
};

} // namespace

void size_overloads(Ground &ground) {
    for (const auto &[index, behind] : ground.behind)
        if (ground.device(index).kind == DeviceKind::overload)
            OverloadSizing(ground, index, behind).size();
}

} // namespace stopspan::ratings
