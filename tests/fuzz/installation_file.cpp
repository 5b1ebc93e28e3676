// An installation file: whatever the bytes, they are refused, or read, written, wired and checked.
#include "stopspan/files.hpp"
#include "stopspan/installation.hpp"
#include "trial.hpp"

#include <cstddef>
#include <cstdint>

using namespace stopspan;

namespace {

void expect_same_again(const InstallationFile &file) {
    const std::string written = write_installation(file);
    const InstallationFile again = read_installation(written);
    if (!(again == file))
        fuzz::broken("an installation, written and read again, is another one");
    if (write_installation(again) != written)
        fuzz::broken("an installation, written twice, has other bytes");
}

void try_installation(InstallationFile file, std::size_t bytes) {
    Installation installation(file.description.name);
    installation.description = std::move(file.description);
    installation.recorded = std::move(file.recorded);
    try {
        const Circuit circuit = installation.circuit();
        if (circuit.devices().size() <= fuzz::most_devices)
            fuzz::expect_witnesses(circuit, installation.check(fuzz::small_budget(bytes)));
    } catch (const Error &) { // what is described cannot be wired, or what is asked is not there
    }
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t *data, std::size_t size) {
    const std::string_view xml(reinterpret_cast<const char *>(data), size);
    InstallationFile file;
    try {
        file = read_installation(xml, "file.xml");
    } catch (const FileError &error) {
        fuzz::expect_told(error, "file.xml", xml);
        return 0;
    }
    expect_same_again(file);
    try_installation(std::move(file), size);
    return 0;
}
