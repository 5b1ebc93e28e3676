#include "stopspan/wiring.hpp"

#include <unordered_map>
#include <unordered_set>

namespace stopspan {

std::vector<AskedCell> asked_of(const Description &description, const Circuit &wired) {
    std::vector<AskedCell> cells = description.asked();
    std::unordered_set<std::string_view> described, machines;
    for (const StopDevice &stop : description.stops())
        described.insert(stop.name);
    for (const Machine &machine : description.machines())
        machines.insert(machine.name);
    for (const Device &device : wired.devices()) {
        if (!is_actuator(device.kind) || role_of(device) != Role::stop || described.contains(device.designation))
            continue;
        const std::string_view machine = machine_of(device);
        if (!machines.contains(machine))
            continue;
        cells.push_back({device.designation, std::string(machine), Asked::cut});
        for (const KeptLoad &load : description.loads())
            cells.push_back({device.designation, load.name, Asked::keep});
    }
    return cells;
}

} // namespace stopspan
