#include "base/number_text.hpp"
#include "base/words.hpp"
#include "lists/tables.hpp"

#include <array>
#include <map>

namespace stopspan {
namespace {

class Commissioning {
public:
    explicit Commissioning(const Listed &listed) : listed_(listed) {
        for (const Machine &machine : listed.description.machines())
            machines_.emplace(machine.name, &machine);
        for (const TestRecord &record : listed.description.test_records()) {
            const TestRecord *&last = last_[{record.test, record.device, record.machine}];
            if (!last || last->date < record.date)
                last = &record;
        }
    }

    List write() {
        stops_against_machines();
        for (const std::string &machine : listed_.circuit.machines())
            add("power-return", "", machine, "run it; switch its supply off and on again",
                "stays off until its start is pressed");
        for (const std::string &stop : listed_.circuit.stops()) {
            add("stop-beats-start", stop, "", "keep it actuated; press every start and reset in its reach",
                "nothing it stops starts");
            add("release-return", stop, "", "release it, touch nothing else", "nothing starts");
        }
        for (const Device &device : listed_.circuit.devices()) {
            if (is_actuator(device.kind) && role_of(device) == Role::reset)
                add("release-return", device.designation, "", "after every release: reset, touch no start",
                    "nothing starts");
            if (device.kind == DeviceKind::overload)
                add("overload-cuts", device.designation, machine_at(device), "run; trip it by its test; then reset it",
                    "power off at once; nothing starts at the reset");
            if (device.kind == DeviceKind::isolator)
                add("isolator-clears", device.designation, "", "open it, prove dead behind it; close it again",
                    "dead behind it, but for what is labelled; nothing else stops; nothing starts");
        }
        return std::move(list_);
    }

private:
    void stops_against_machines() {
        std::map<std::string, std::vector<std::string>> kept;
        for (const MatrixCell &cell : listed_.verdict.matrix) {
            if (cell.asked == Asked::cut || (cell.asked == Asked::free && cell.found == Found::cuts))
                add("stop-cuts", cell.stop, cell.machine, "run it" + ways(cell) + "; actuate the stop alone",
                    expected_stop(cell.machine));
            else if (cell.asked == Asked::keep)
                kept[cell.stop].push_back(cell.machine);
        }
        for (const auto &[stop, loads] : kept)
            add("stop-spares", stop, "", "have on what no stop may cut; actuate the stop alone",
                "stays on: " + listed_in_short(loads));
    }

    static std::string ways(const MatrixCell &cell) {
        std::string text;
        for (const auto &[mode, found] : cell.modes)
            text += (text.empty() ? "" : ", ") + mode;
        return cell.modes.size() > 1 ? " in each way (" + text + ")" : "";
    }

    std::string expected_stop(const std::string &machine) const {
        const auto found = machines_.find(machine);
        if (found != machines_.end() && found->second->stop_category == 1)
            return "brakes; power off after " + format_fixed(found->second->stop_delay_s, 1) + " s";
        return "power off at once";
    }

    std::string machine_at(const Device &device) const {
        const auto index = static_cast<std::size_t>(&device - listed_.circuit.devices().data());
        const std::string &name = listed_.name_of(listed_.locations.of_device[index]);
        return machines_.contains(name) ? name : "";
    }

    void add(std::string test, std::string device, std::string machine, std::string act, std::string expected) {
        std::string last;
        if (const auto found = last_.find({test, device, machine}); found != last_.end()) {
            const TestRecord &record = *found->second;
            last = record.date + " " + std::string(to_text(record.result)) +
                   (record.run_down_s ? ", " + format_fixed(*record.run_down_s, 1) + " s" : "");
        }
        list_.rows.push_back({std::to_string(list_.rows.size() + 1), std::move(test), std::move(device),
                              std::move(machine), std::move(act), std::move(expected), std::move(last), "", "", "",
                              ""});
    }

    const Listed &listed_;
    std::map<std::string_view, const Machine *> machines_;
    std::map<std::array<std::string, 3>, const TestRecord *> last_; ///< by test, device, machine: the latest
    List list_{
        "commissioning",
        "Commissioning",
        "One line, one trial, by a competent, licensed person. Result: pass or fail.",
        {"line", "test", "device", "machine", "do", "expected", "last_time", "result", "run_down_s", "name", "date"},
        {},
        4};
};

} // namespace

List commissioning_list(const Listed &listed) {
    return Commissioning(listed).write();
}

} // namespace stopspan
