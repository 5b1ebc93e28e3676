#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace stopspan {

struct CsvRow {
    std::size_t line; ///< where it begins, counted from 1
    std::vector<std::string> fields;
};

/// Rows of comma-separated values as in RFC 4180; lines may end with LF or CRLF, quoted fields may hold both. Rows
/// with nothing in them are left out.
/// @param csv  without a byte order mark
/// @throws FileError (unreadable) with the line
std::vector<CsvRow> read_csv(std::string_view csv, const std::string &file);

/// Appends one row; fields with a comma, a quote or a line break are quoted.
void append_csv_row(std::string &csv, const std::vector<std::string_view> &fields);

} // namespace stopspan
