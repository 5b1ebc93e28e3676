#include "stopspan/error.hpp"
#include "stopspan/exporter.hpp"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <gtest/gtest.h>

namespace stopspan::test {
namespace {

class Named final : public Exporter {
public:
    explicit Named(std::string name, std::vector<std::string_view> suffixes = {})
        : name_(std::move(name)), suffixes_(std::move(suffixes)) {}
    std::string_view name() const noexcept override { return name_; }
    std::span<const std::string_view> suffixes() const noexcept override { return suffixes_; }
    void write(const Drawing &, ByteSink &) const override {}

private:
    std::string name_;
    std::vector<std::string_view> suffixes_;
};

TEST(ExporterRegistry, LoadsGoodPluginsAndNamesEachBadOneItSkips) {
    const std::filesystem::path folder = STOPSPAN_TEST_PLUGINS;
    std::ofstream(folder / "broken.so") << "this is no shared library";
    ExporterRegistry registry;
    const auto problems = registry.load_folder(folder.string());
    EXPECT_EQ(registry.names(), (std::vector<std::string>{"terminals", "titles"}));
    const std::vector<std::pair<std::string, std::string>> expected{
        {"broken.so", "skipped"},
        {"good.so", "'A/B' must be of small letters"},
        {"old.so", "interface 1, this is 2; build it again"},
        {"stranger.so", "is no exporter"},
        {"wild.so", "no exception"}};
    ASSERT_EQ(problems.size(), expected.size());
    for (std::size_t i = 0; i < expected.size(); ++i) {
        EXPECT_NE(problems[i].find(expected[i].first), std::string::npos) << problems[i];
        EXPECT_NE(problems[i].find(expected[i].second), std::string::npos) << problems[i];
    }
    Drawing drawing;
    drawing.sheets.push_back({"1", "Plan", {}, {}});
    drawing.netlist.push_back({"P1", "lamp", {{"1", "L"}, {"2", "N"}}, {}});
    EXPECT_EQ(exported(registry.find("titles"), drawing), "1 Plan\n");
    EXPECT_EQ(exported(registry.find("terminals"), drawing), "lamp P1:1 L\nlamp P1:2 N\n");
    EXPECT_EQ(registry.with_suffix("toc"), &registry.find("titles"));
    EXPECT_EQ(registry.with_suffix("terminals"), nullptr);
}

TEST(ExporterRegistry, RefusesASuffixTwiceAndNamesThatAreTaken) {
    ExporterRegistry registry;
    registry.add(std::make_shared<Named>("a", std::vector<std::string_view>{"x"}));
    const auto refused = [&](std::string name, std::vector<std::string_view> suffixes, const std::string &says) {
        try {
            registry.add(std::make_shared<Named>(std::move(name), std::move(suffixes)));
            ADD_FAILURE() << "not refused: " << says;
        } catch (const Error &error) {
            EXPECT_NE(std::string(error.what()).find(says), std::string::npos) << error.what();
        }
    };
    refused("b", {"y", "x"}, "the suffix 'x' of 'a' is already known");
    refused("csv", {}, "'csv' is already known");
    refused("b", {"xml"}, "the suffix 'xml' is already known");
    refused("", {}, "must be of small letters");
    refused("b", {".x"}, "must be of small letters");
    EXPECT_EQ(registry.names(), std::vector<std::string>{"a"});
    EXPECT_EQ(registry.listing(), "a (.x), csv, xml");
}

TEST(ExporterRegistry, SkipsAPluginWhoseFormatIsKnown) {
    ExporterRegistry registry;
    registry.add(std::make_shared<Named>("titles"));
    const auto problems = registry.load_folder(STOPSPAN_TEST_PLUGINS);
    EXPECT_TRUE(std::any_of(problems.begin(), problems.end(), [](const std::string &problem) {
        return problem.find("good.so") != std::string::npos && problem.find("already known") != std::string::npos;
    }));
}

TEST(ExporterRegistry, ReportsAFolderThatIsNotThere) {
    ExporterRegistry registry;
    EXPECT_EQ(registry.load_folder("/no/such/folder").size(), 1u);
}

TEST(ExporterRegistry, RefusesANameTwiceAndListsKnownFormatsForAnUnknownOne) {
    ExporterRegistry registry;
    registry.add(std::make_shared<Named>("b"));
    registry.add(std::make_shared<Named>("a"));
    EXPECT_THROW(registry.add(std::make_shared<Named>("a")), Error);
    try {
        registry.find("c");
        FAIL() << "no refusal";
    } catch (const Error &error) {
        EXPECT_EQ(error.code(), ErrorCode::no_exporter);
        EXPECT_STREQ(error.what(), "no exporter 'c'; known: a, b");
    }
}

} // namespace
} // namespace stopspan::test
