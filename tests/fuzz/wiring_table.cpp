// A wiring table, and the circuit in it: whatever the bytes, they are refused, or read, written, replayed and checked.
#include "stopspan/files.hpp"
#include "trial.hpp"

#include <cstddef>
#include <cstdint>

using namespace stopspan;

namespace {

void try_circuit(const Circuit &circuit, std::size_t bytes) {
    const std::string written = write_wiring_table(circuit);
    if (!(read_wiring_table(written) == circuit))
        fuzz::broken("a wiring table, written and read again, is another circuit");
    if (circuit.devices().size() > fuzz::most_devices)
        return;
    fuzz::replay_some(circuit);
    fuzz::expect_witnesses(circuit, check(circuit, fuzz::small_budget(bytes)));
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t *data, std::size_t size) {
    const std::string_view csv(reinterpret_cast<const char *>(data), size);
    Circuit circuit;
    try {
        circuit = read_wiring_table(csv, "table.csv");
    } catch (const FileError &error) {
        fuzz::expect_told(error, "table.csv", csv);
        return 0;
    }
    try_circuit(circuit, size);
    return 0;
}
