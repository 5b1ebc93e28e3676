#include "stopspan/error.hpp"
#include "stopspan/files.hpp"
#include "stopspan/installation.hpp"
#include "stopspan/sizes.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>

namespace stopspan::test {
namespace {

std::vector<std::string> files_in(const std::string &folder, const std::string &suffix) {
    std::vector<std::string> files;
    for (const auto &entry : std::filesystem::directory_iterator(std::string(STOPSPAN_TEST_DATA) + "/" + folder))
        if (entry.path().extension() == suffix)
            files.push_back(entry.path().string());
    std::ranges::sort(files);
    return files;
}

void expect_whole(const Sizes &sizes, const std::string &file) {
    for (const Size &size : sizes.values) {
        EXPECT_TRUE(std::isfinite(size.value)) << file << ' ' << size.subject << ' ' << size.quantity;
        EXPECT_FALSE(size.formula.empty() || size.source.empty() || size.inputs.empty())
            << file << ' ' << size.subject << ' ' << size.quantity;
        for (const SizeInput &input : size.inputs)
            EXPECT_TRUE(std::isfinite(input.value) && !input.from.empty()) << file << ' ' << input.name;
    }
    for (const UnknownInput &unknown : sizes.unknown)
        EXPECT_FALSE(unknown.subject.empty() || unknown.parameter.empty() || unknown.needed_for.empty()) << file;
}

// The rest of the circuits is sized by the tests in Python, which take no sanitizers along.
TEST(Sizes, EveryFourthCircuitAndEveryInstallationIsSizedWithFormulaInputsAndSource) {
    const std::vector<std::string> circuits = files_in("circuits", ".csv");
    ASSERT_GT(circuits.size(), 80U);
    for (std::size_t i = 0; i < circuits.size(); i += 4)
        expect_whole(sizes(Description(), read_wiring_table(read_file(circuits[i]), circuits[i])), circuits[i]);
    for (const std::string &file : files_in("installations", ".xml")) {
        const Sizes of_file = Installation::load(file).sizes();
        EXPECT_FALSE(of_file.values.empty()) << file;
        expect_whole(of_file, file);
    }
}

TEST(Sizes, TheFirstOfASubjectAndQuantityIsFound) {
    Circuit circuit;
    circuit.add("G1", DeviceKind::mains_1ph, std::vector<Connection>{{"L", "L"}, {"N", "N"}});
    circuit.add("M1", DeviceKind::motor_1ph, std::vector<Connection>{{"L", "L"}, {"N", "N"}}, {{"current_a", 3.5}});
    const Sizes found = sizes(Description(), circuit);
    ASSERT_TRUE(found.find("M1", "rated current"));
    EXPECT_EQ(found.find("M1", "rated current")->value, 3.5);
    EXPECT_EQ(found.find("M1", "rated torque"), nullptr);
    EXPECT_EQ(found.find("M2", "rated current"), nullptr);
}

TEST(Sizes, AnOptionThatIsNoNumberIsRefused) {
    SizeOptions options;
    options.ambient_c = NAN;
    EXPECT_THROW(sizes(Description(), Circuit(), options), Error);
}

} // namespace
} // namespace stopspan::test
