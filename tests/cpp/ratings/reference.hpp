#pragma once

#include "base/number_text.hpp"
#include "files/csv.hpp"
#include "stopspan/files.hpp"

#include <gtest/gtest.h>

#include <map>
#include <optional>
#include <string>
#include <vector>

namespace stopspan::test {

/// One row of a table in tests/data/reference: values as published, each with its source and how sure it is.
class ReferenceRow {
public:
    explicit ReferenceRow(std::map<std::string, std::string> fields) : fields_(std::move(fields)) {}
    const std::string &text(const std::string &column) const {
        const auto found = fields_.find(column);
        if (found == fields_.end())
            throw std::runtime_error("no column " + column);
        return found->second;
    }
    std::optional<double> number(const std::string &column) const {
        const std::string &value = text(column);
        return parse_number(value.starts_with('.') ? "0" + value : value);
    }
    bool confirmed() const { return text("status").starts_with("confirmed"); }

private:
    std::map<std::string, std::string> fields_;
};

inline std::vector<ReferenceRow> reference(const std::string &name) {
    const std::string path = STOPSPAN_TEST_DATA "/reference/" + name + ".csv";
    const std::vector<CsvRow> rows = read_csv(read_file(path), path);
    std::vector<ReferenceRow> table;
    for (std::size_t i = 1; i < rows.size(); ++i) {
        std::map<std::string, std::string> fields;
        for (std::size_t c = 0; c < rows[0].fields.size(); ++c)
            fields[rows[0].fields[c]] = c < rows[i].fields.size() ? rows[i].fields[c] : "";
        table.emplace_back(std::move(fields));
    }
    return table;
}

} // namespace stopspan::test
