#include <stopspan/installation.hpp>
#include <stopspan/replay.hpp>

#include <iostream>
#include <vector>

int main() {
    using namespace stopspan;
    Circuit circuit;
    const auto add = [&](const char *name, DeviceKind kind, std::vector<Connection> connections,
                         Parameters parameters = {}) { circuit.add(name, kind, connections, parameters); };
    add("G1", DeviceKind::mains_1ph, {{"L", "L"}, {"N", "N"}});
    add("ES1", DeviceKind::emergency_stop, {{"11", "L"}, {"12", "a"}});
    add("S1", DeviceKind::push_button, {{"13", "a"}, {"14", "b"}}, {{"role", "start"}});
    add("K1", DeviceKind::contactor, {{"A1", "b"}, {"A2", "N"}, {"13", "a"}, {"14", "b"}, {"1", "L"}, {"2", "m"}},
        {{"coil_voltage_v", 230.0}});
    add("M1", DeviceKind::motor_1ph, {{"L", "m"}, {"N", "N"}});

    Replay replay(circuit);
    replay.act("tap S1");
    std::cout << "M1 " << replay.state("M1") << '\n';
    std::cout << (check(circuit).ok() ? "holds" : "does not hold") << '\n';

    ExporterRegistry registry;
    for (const std::string &unusable : registry.load_folder(EXPORTERS))
        std::cout << unusable << '\n';
    for (const std::string &format : registry.names())
        std::cout << format << '\n';
}
