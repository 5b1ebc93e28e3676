#include "stopspan/error.hpp"
#include "stopspan/exporter.hpp"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <gtest/gtest.h>

namespace stopspan::test {
namespace {

struct Bytes final : ByteSink {
    std::string text;
    void write(std::string_view bytes) override { text += bytes; }
};

class Named final : public Exporter {
public:
    explicit Named(std::string name) : name_(std::move(name)) {}
    std::string_view name() const noexcept override { return name_; }
    void write(const Drawing &, ByteSink &) const override {}

private:
    std::string name_;
};

TEST(ExporterRegistry, LoadsGoodPluginsAndNamesEachBadOneItSkips) {
    const std::filesystem::path folder = STOPSPAN_TEST_PLUGINS;
    std::ofstream(folder / "broken.so") << "this is no shared library";
    ExporterRegistry registry;
    const auto problems = registry.load_folder(folder.string());
    EXPECT_EQ(registry.names(), std::vector<std::string>{"titles"});
    ASSERT_EQ(problems.size(), 3u);
    EXPECT_NE(problems[0].find("broken.so"), std::string::npos) << problems[0];
    EXPECT_NE(problems[1].find("old.so"), std::string::npos) << problems[1];
    EXPECT_NE(problems[1].find("interface 0"), std::string::npos) << problems[1];
    EXPECT_NE(problems[2].find("stranger.so"), std::string::npos) << problems[2];
    Drawing drawing;
    drawing.sheets.push_back({"1", "Plan", {}, {}});
    Bytes bytes;
    registry.find("titles").write(drawing, bytes);
    EXPECT_EQ(bytes.text, "1 Plan\n");
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
