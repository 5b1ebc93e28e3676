#include "stopspan/files.hpp"

#include "base/number_text.hpp"
#include "base/words.hpp"
#include "files/csv.hpp"
#include "files/text_file.hpp"
#include "stopspan/error.hpp"

#include <algorithm>
#include <array>

namespace stopspan {
namespace {

// Columns that are read; a table may have others, in any order.
constexpr std::array<std::string_view, 7> needed{"test", "device", "machine", "result", "run_down_s", "name", "date"};

std::array<std::size_t, needed.size()> places_of(const CsvRow &head, const std::string &file) {
    std::array<std::size_t, needed.size()> places{};
    for (std::size_t i = 0; i < needed.size(); ++i) {
        const auto found = std::ranges::find(head.fields, needed[i]);
        if (found == head.fields.end())
            throw FileError(ErrorCode::unreadable, file, head.line,
                            "no column '" + std::string(needed[i]) +
                                "'; the first line must be that of the commissioning list: " + listed(needed));
        places[i] = static_cast<std::size_t>(found - head.fields.begin());
    }
    return places;
}

} // namespace

std::vector<TestRecord> read_commissioning(std::string_view bytes, const std::string &name) {
    const std::string_view csv = without_byte_order_mark(bytes);
    check_text_file(csv, name);
    const std::vector<CsvRow> rows = read_csv(csv, name);
    if (rows.empty())
        throw FileError(ErrorCode::unreadable, name, 0, "it is empty; export the commissioning list and fill it in");
    const auto place = places_of(rows.front(), name);
    std::vector<TestRecord> records;
    for (std::size_t i = 1; i < rows.size(); ++i) {
        const CsvRow &row = rows[i];
        const auto refuse = [&](const std::string &why) { throw FileError(ErrorCode::bad_value, name, row.line, why); };
        if (row.fields.size() != rows.front().fields.size())
            refuse("has " + std::to_string(row.fields.size()) + " fields, the first line has " +
                   std::to_string(rows.front().fields.size()) + "; give each row as many");
        const auto field = [&](std::size_t column) -> const std::string & { return row.fields[place[column]]; };
        const std::string &result = field(3), &run_down = field(4);
        if (result.empty() && run_down.empty() && field(5).empty() && field(6).empty())
            continue; // not tried yet
        TestRecord record{field(0), field(1), field(2), TestResult::fail, {}, field(5), field(6)};
        try {
            record.result = test_result(result);
        } catch (const Error &error) {
            refuse(std::string(error.what()) + "; write what the trial gave, or leave the whole row open");
        }
        if (!run_down.empty()) {
            record.run_down_s = parse_number(run_down);
            if (!record.run_down_s)
                refuse("run_down_s '" + run_down + "' is no number; write seconds as 4.2");
        }
        try {
            Description().record(record); // what the record itself says
        } catch (const Error &error) {
            throw FileError(error.code(), name, row.line, error.what());
        }
        records.push_back(std::move(record));
    }
    return records;
}

} // namespace stopspan
