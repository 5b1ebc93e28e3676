#include "sample.hpp"

#include <filesystem>
#include <fstream>

#include <sys/stat.h>
#include <unistd.h>

namespace stopspan::test {
namespace {

namespace fs = std::filesystem;

class Disk : public testing::Test {
protected:
    void SetUp() override {
        folder_ = fs::path(testing::TempDir()) / ("stopspan-disk-" + std::to_string(::getpid()));
        fs::create_directories(folder_);
    }
    void TearDown() override { fs::remove_all(folder_); }
    std::string path(const std::string &name) const { return (folder_ / name).string(); }
    std::size_t files() const {
        return static_cast<std::size_t>(std::distance(fs::directory_iterator(folder_), fs::directory_iterator()));
    }
    fs::path folder_;
};

TEST_F(Disk, GivesBackTheBytesThatWereWritten) {
    const std::string bytes("a\0b\r\n\xff", 6);
    write_file(path("a.bin"), bytes);
    EXPECT_EQ(read_file(path("a.bin")), bytes);
    write_file(path("a.bin"), "");
    EXPECT_EQ(read_file(path("a.bin")), "");
    EXPECT_EQ(files(), 1u) << "nothing is left beside";
}

TEST_F(Disk, ReplacesTheFileBehindALinkAndKeepsWhoMayReadIt) {
    write_file(path("real"), "old");
    fs::permissions(path("real"), fs::perms::owner_read | fs::perms::owner_write);
    fs::create_symlink("real", path("link"));
    write_file(path("link"), "new");
    EXPECT_TRUE(fs::is_symlink(path("link")));
    EXPECT_EQ(read_file(path("real")), "new");
    EXPECT_EQ(fs::status(path("real")).permissions(), fs::perms::owner_read | fs::perms::owner_write);
}

TEST_F(Disk, NeverWritesThroughAFileThatStandsInTheWay) {
    write_file(path("victim"), "keep");
    fs::create_symlink("victim", path("a.xml.0.part"));
    write_file(path("a.xml"), "new");
    EXPECT_EQ(read_file(path("victim")), "keep");
    EXPECT_EQ(read_file(path("a.xml")), "new");
}

TEST_F(Disk, WritesStraightIntoWhatIsNoFile) {
    write_file("/dev/null", "gone");
    EXPECT_TRUE(fs::is_character_file("/dev/null"));
}

TEST_F(Disk, SaysWhyAFileCannotBeRead) {
    expect_file_error(ErrorCode::unreadable, 0, path("none.xml"), {"cannot be read: No such file"},
                      [&] { read_file(path("none.xml")); });
    expect_file_error(ErrorCode::unreadable, 0, folder_.string(), {"it is a folder"},
                      [&] { read_file(folder_.string()); });
    expect_file_error(ErrorCode::unreadable, 0, "/dev/zero", {"larger than 256 MiB"}, [&] { read_file("/dev/zero"); });
}

TEST_F(Disk, SaysWhyAFileCannotBeWrittenAndLeavesNothingBehind) {
    expect_file_error(ErrorCode::unwritable, 0, path("no/such/a.xml"), {"cannot be written: there is no folder"},
                      [&] { write_file(path("no/such/a.xml"), "x"); });
    expect_file_error(ErrorCode::unwritable, 0, folder_.string(), {"it is a folder"},
                      [&] { write_file(folder_.string(), "x"); });
    EXPECT_EQ(files(), 0u);
}

TEST_F(Disk, SaysThatTheDiskIsFull) {
    if (!fs::exists("/dev/full"))
        GTEST_SKIP() << "no /dev/full here";
    expect_file_error(ErrorCode::unwritable, 0, "/dev/full", {"No space left"}, [&] { write_file("/dev/full", "x"); });
}

} // namespace
} // namespace stopspan::test
