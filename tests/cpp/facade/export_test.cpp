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
    std::string_view name() const noexcept override { return "torn"; }
    void write(const Drawing &, ByteSink &out) const override {
        out.write("half of it");
        throw std::runtime_error("the ink is out");
    }
};

struct Whole final : Exporter {
    std::string_view name() const noexcept override { return "whole"; }
    void write(const Drawing &drawing, ByteSink &out) const override {
        out.write(drawing.sheets.empty() ? "none" : "some");
    }
};

class Export : public testing::Test {
protected:
    Export() {
        std::string name = (fs::temp_directory_path() / "stopspan-export-XXXXXX").string();
        folder = ::mkdtemp(name.data());
        registry.add(std::make_shared<Torn>());
        registry.add(std::make_shared<Whole>());
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
        EXPECT_NE(said.find("known: csv, torn, whole, xml"), std::string::npos) << said;
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

} // namespace
} // namespace stopspan
