// What an export leaves on the disk: the whole file, or nothing at all.
#include "stopspan/error.hpp"
#include "stopspan/files.hpp"
#include "stopspan/installation.hpp"

#include <cstdlib>
#include <filesystem>
#include <gtest/gtest.h>

namespace stopspan {
namespace {

namespace fs = std::filesystem;

// An exporter as others may write them: it gets half-way and throws an exception of its own.
struct Torn final : Exporter {
    static constexpr std::array<std::string_view, 1> suffix{"torn"};
    std::string_view name() const noexcept override { return "torn"; }
    std::span<const std::string_view> suffixes() const noexcept override { return suffix; }
    void write(const Drawing &, ByteSink &out) const override {
        out.write("half of it");
        throw std::runtime_error("the ink is out");
    }
};

struct Whole final : Exporter {
    static constexpr std::array<std::string_view, 2> suffix{"whole", "all"};
    std::string_view name() const noexcept override { return "whole"; }
    std::span<const std::string_view> suffixes() const noexcept override { return suffix; }
    void write(const Drawing &drawing, ByteSink &out) const override {
        out.write(drawing.sheets.empty() ? "none" : "some");
    }
};

// Says which sheets it was given.
struct NamedOnly final : Exporter {
    std::string_view name() const noexcept override { return "named-only"; }
    std::span<const std::string_view> suffixes() const noexcept override { return {}; }
    void write(const Drawing &drawing, ByteSink &out) const override {
        for (const Sheet &sheet : drawing.sheets)
            out.write(sheet.number + "\n");
    }
};

class Export : public testing::Test {
protected:
    Export() {
        std::string name = (fs::temp_directory_path() / "stopspan-export-XXXXXX").string();
        folder = ::mkdtemp(name.data());
        registry.add(std::make_shared<Torn>());
        registry.add(std::make_shared<Whole>());
        registry.add(std::make_shared<NamedOnly>());
        shop.recorded = read_wiring_table(read_file(STOPSPAN_TEST_DATA "/circuits/R1.csv"));
    }
    ~Export() override { fs::remove_all(folder); }

    std::string file(const char *name) const { return (folder / name).string(); }
    std::string refusal(const std::string &path, ErrorCode code) const {
        try {
            shop.export_to(path, registry);
        } catch (const Error &error) {
            EXPECT_EQ(error.code(), code) << error.what();
            return error.what();
        }
        ADD_FAILURE() << path << " was not refused";
        return "";
    }

    fs::path folder;
    ExporterRegistry registry;
    Installation shop{"Shop"};
};

TEST_F(Export, AnExporterThatFailsIsNamedAndLeavesNothingBehind) {
    const std::string said = refusal(file("a.torn"), ErrorCode::no_exporter);
    EXPECT_NE(said.find("'torn'"), std::string::npos) << said;
    EXPECT_NE(said.find("the ink is out"), std::string::npos) << said;
    EXPECT_TRUE(fs::is_empty(folder));
}

TEST_F(Export, AnExporterThatFailsLeavesTheFileThatWasThere) {
    write_file(file("a.torn"), "of yesterday");
    refusal(file("a.torn"), ErrorCode::no_exporter);
    EXPECT_EQ(read_file(file("a.torn")), "of yesterday");
}

TEST_F(Export, AnUnknownOrMissingSuffixIsRefusedWithAllThatAreKnown) {
    for (const char *name : {"a.pdf", "a"}) {
        const std::string said = refusal(file(name), ErrorCode::no_exporter);
        EXPECT_NE(said.find(file(name)), std::string::npos) << said;
        EXPECT_NE(said.find("known: csv, named-only, torn, whole (.all), xml"), std::string::npos) << said;
    }
    EXPECT_TRUE(fs::is_empty(folder));
}

TEST_F(Export, AFolderThatIsNotThereIsNamedAndNotMade) {
    const std::string said = refusal(file("missing/a.whole"), ErrorCode::unwritable);
    EXPECT_NE(said.find("there is no folder '" + file("missing") + "'"), std::string::npos) << said;
    EXPECT_TRUE(fs::is_empty(folder));
}

TEST_F(Export, SuffixesInCapitalsAreTheSameFormats) {
    shop.export_to(file("A.WHOLE"), registry);
    EXPECT_EQ(read_file(file("A.WHOLE")), "some");
    shop.export_to(file("A.CSV"), registry);
    EXPECT_EQ(Installation::load(file("A.CSV")).recorded, shop.recorded);
    shop.save(file("A.XML"));
    EXPECT_EQ(Installation::load(file("A.XML")).recorded, shop.recorded);
}

TEST_F(Export, AnyOfItsSuffixesMeansAFormatAndANameWithoutSuffixIsNone) {
    shop.export_to(file("a.all"), registry);
    EXPECT_EQ(read_file(file("a.all")), "some");
    refusal(file("a.named-only"), ErrorCode::no_exporter);
    shop.export_to(file("a.named-only"), registry, {"named-only"});
    EXPECT_TRUE(fs::exists(file("a.named-only")));
}

TEST_F(Export, EachSheetIsAFileOfItsOwnWithItsNumberInTheName) {
    shop.export_to(file("a.txt"), registry, {"named-only", true});
    const Drawing drawing = shop.drawing();
    ASSERT_GT(drawing.sheets.size(), 1u);
    ASSERT_LT(drawing.sheets.size(), 10u);
    for (const Sheet &sheet : drawing.sheets)
        EXPECT_EQ(read_file(file(("a-" + sheet.number + ".txt").c_str())), sheet.number + "\n");
    EXPECT_EQ(std::distance(fs::directory_iterator(folder), {}), static_cast<std::ptrdiff_t>(drawing.sheets.size()));
}

TEST_F(Export, AnExporterThatFailsAtASheetLeavesNoneBehind) {
    EXPECT_THROW(shop.export_to(file("a.torn"), registry, {"", true}), Error);
    EXPECT_TRUE(fs::is_empty(folder));
}

TEST_F(Export, WhatHasNoSheetsIsNotWrittenSheetBySheet) {
    for (const char *name : {"a.csv", "a.xml"})
        EXPECT_THROW(shop.export_to(file(name), registry, {"", true}), Error);
    EXPECT_TRUE(fs::is_empty(folder));
}

} // namespace
} // namespace stopspan
