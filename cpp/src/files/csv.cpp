#include "files/csv.hpp"

#include "stopspan/files.hpp"

#include "stopspan/error.hpp"

#include <algorithm>

namespace stopspan {
namespace {

class CsvReader {
public:
    CsvReader(std::string_view csv, const std::string &file) : csv_(csv), file_(file) {}

    std::vector<CsvRow> rows() {
        std::vector<CsvRow> all;
        while (at_ < csv_.size()) {
            CsvRow row{line_, {}};
            do {
                row.fields.push_back(at_ < csv_.size() && csv_[at_] == '"' ? quoted() : plain());
            } while (comma());
            line_end();
            const bool empty =
                std::all_of(row.fields.begin(), row.fields.end(), [](const auto &f) { return f.empty(); });
            if (!empty)
                all.push_back(std::move(row));
        }
        return all;
    }

private:
    [[noreturn]] void refuse(std::size_t line, const std::string &message) const {
        throw FileError(ErrorCode::unreadable, file_, line, message);
    }

    bool comma() {
        if (at_ >= csv_.size() || csv_[at_] != ',')
            return false;
        ++at_;
        return true;
    }

    void line_end() {
        if (at_ >= csv_.size())
            return;
        if (csv_[at_] == '\r')
            ++at_;
        if (at_ >= csv_.size() || csv_[at_] != '\n')
            refuse(line_, "a carriage return without a line feed; end lines with LF or CRLF");
        ++at_;
        ++line_;
    }

    std::string plain() {
        const std::size_t end = std::min(csv_.find_first_of(",\r\n\"", at_), csv_.size());
        if (end < csv_.size() && csv_[end] == '"')
            refuse(line_, "a quote inside a field; put the whole field in quotes and double the quote");
        const std::string_view field = csv_.substr(at_, end - at_);
        at_ = end;
        return std::string(field);
    }

    std::string quoted() {
        const std::size_t begins = line_;
        std::string field;
        ++at_;
        for (;;) {
            const std::size_t end = csv_.find('"', at_);
            if (end == std::string_view::npos)
                refuse(begins, "a quote that begins here is never closed");
            const std::string_view part = csv_.substr(at_, end - at_);
            field += part;
            line_ += static_cast<std::size_t>(std::count(part.begin(), part.end(), '\n'));
            at_ = end + 1;
            if (at_ >= csv_.size() || csv_[at_] != '"')
                break;
            field += '"';
            ++at_;
        }
        if (at_ < csv_.size() && csv_[at_] != ',' && csv_[at_] != '\r' && csv_[at_] != '\n')
            refuse(line_, "text after a closing quote; a quote inside a field is doubled");
        return field;
    }

    std::string_view csv_;
    const std::string &file_;
    std::size_t at_ = 0;
    std::size_t line_ = 1;
};

} // namespace

std::vector<CsvRow> read_csv(std::string_view csv, const std::string &file) {
    return CsvReader(csv, file).rows();
}

void append_csv_row(std::string &csv, const std::vector<std::string_view> &fields) {
    const char *separator = "";
    for (const std::string_view field : fields) {
        csv += separator;
        separator = ",";
        if (field.find_first_of(",\"\r\n") == std::string_view::npos) {
            csv += field;
            continue;
        }
        csv += '"';
        for (const char c : field)
            csv.append(c == '"' ? 2 : 1, c);
        csv += '"';
    }
    csv += '\n';
}

std::string write_list(const List &list) {
    std::string csv;
    append_csv_row(csv, {list.columns.begin(), list.columns.end()});
    for (const std::vector<std::string> &row : list.rows)
        append_csv_row(csv, {row.begin(), row.end()});
    return csv;
}

} // namespace stopspan
