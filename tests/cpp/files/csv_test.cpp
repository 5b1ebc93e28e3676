#include "sample.hpp"

#include "files/csv.hpp"

namespace stopspan::test {
namespace {

using Fields = std::vector<std::string>;

// The seven rules of RFC 4180, section 2, with its own examples.
TEST(Csv, FollowsRfc4180) {
    const auto rows =
        read_csv("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n\"aaa\",\"b\r\nbb\",\"ccc\"\r\n\"aaa\",\"b\"\"bb\",\"ccc\"", "a.csv");
    ASSERT_EQ(rows.size(), 4u);
    EXPECT_EQ(rows[0].fields, (Fields{"aaa", "bbb", "ccc"}));
    EXPECT_EQ(rows[2].fields, (Fields{"aaa", "b\r\nbb", "ccc"}));
    EXPECT_EQ(rows[2].line, 3u);
    EXPECT_EQ(rows[3].fields, (Fields{"aaa", "b\"bb", "ccc"}));
    EXPECT_EQ(rows[3].line, 5u) << "a field above spans two lines";
}

TEST(Csv, KeepsBlanksAndEmptyFields) {
    const auto rows = read_csv(" a ,,\n", "a.csv");
    ASSERT_EQ(rows.size(), 1u);
    EXPECT_EQ(rows[0].fields, (Fields{" a ", "", ""}));
}

TEST(Csv, RefusesWhatTheRulesForbid) {
    expect_file_error(ErrorCode::unreadable, 2, "a.csv", {"quote inside a field"},
                      [] { read_csv("a\nb\"c\n", "a.csv"); });
    expect_file_error(ErrorCode::unreadable, 1, "a.csv", {"after a closing quote"},
                      [] { read_csv("\"a\"b\n", "a.csv"); });
    expect_file_error(ErrorCode::unreadable, 1, "a.csv", {"without a line feed"}, [] { read_csv("a\rb", "a.csv"); });
}

} // namespace
} // namespace stopspan::test
