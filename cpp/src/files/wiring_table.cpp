#include "stopspan/files.hpp"

#include "base/number_text.hpp"
#include "base/words.hpp"
#include "files/csv.hpp"
#include "files/recorded.hpp"
#include "files/text_file.hpp"
#include "stopspan/error.hpp"

#include <algorithm>
#include <unordered_map>

namespace stopspan {
namespace {

const std::vector<std::string_view> header{"device", "kind", "terminal", "net", "parameter", "value"};
enum Column : std::size_t { device_column, kind_column, terminal_column, net_column, parameter_column, value_column };

/// A device as its rows add up.
struct Gathered {
    std::string designation;
    std::size_t line; ///< of its first row
    DeviceKind kind;
    std::vector<Connection> connections;
    std::vector<std::size_t> connection_lines;
    Parameters parameters;
};

class TableReader {
public:
    explicit TableReader(const std::string &file) : file_(file) {}

    void row(const CsvRow &row) {
        line_ = row.line;
        if (row.fields.size() != header.size())
            refuse("has " + std::to_string(row.fields.size()) + " fields; a row has six: " + listed(header));
        Gathered &device = gathered(row.fields[device_column], row.fields[kind_column]);
        const bool terminal = !row.fields[terminal_column].empty() || !row.fields[net_column].empty();
        const bool parameter = !row.fields[parameter_column].empty() || !row.fields[value_column].empty();
        if (terminal == parameter)
            refuse(device.designation + ": a row has either terminal and net, or parameter and value");
        if (terminal) {
            device.connections.push_back({row.fields[terminal_column], row.fields[net_column]});
            device.connection_lines.push_back(row.line);
        } else {
            add_parameter(device, row.fields[parameter_column], row.fields[value_column]);
        }
    }

    Circuit circuit() const {
        Circuit made;
        for (const Gathered &each : devices_) {
            const auto bad = first_bad_terminal(each.kind, each.connections);
            try {
                made.add(each.designation, each.kind, each.connections, each.parameters);
            } catch (const Error &error) {
                throw FileError(error.code(), file_, bad ? each.connection_lines[*bad] : each.line, error.what());
            }
        }
        return made;
    }

private:
    [[noreturn]] void refuse(const std::string &message, ErrorCode code = ErrorCode::unreadable) const {
        throw FileError(code, file_, line_, message);
    }

    Gathered &gathered(const std::string &designation, const std::string &kind_word) {
        if (designation.empty())
            refuse("a row without a device; write its designation in the first field");
        const auto found = index_.find(designation);
        if (found == index_.end()) {
            index_.emplace(designation, devices_.size());
            return devices_.emplace_back(Gathered{designation, line_, kind(designation, kind_word), {}, {}, {}});
        }
        Gathered &device = devices_[found->second];
        if (!kind_word.empty() && kind_word != to_text(device.kind))
            refuse(designation + ": is a " + std::string(to_text(device.kind)) + " in line " +
                       std::to_string(device.line) + " but a " + kind_word +
                       " here; give one kind, or another "
                       "designation",
                   ErrorCode::duplicate_name);
        return device;
    }

    DeviceKind kind(const std::string &designation, const std::string &word) const {
        try {
            return device_kind(word);
        } catch (const Error &error) {
            refuse(designation + ": " + error.what(), error.code());
        }
    }

    void add_parameter(Gathered &device, const std::string &name, const std::string &text) const {
        if (!device.parameters.emplace(name, value(device, name, text)).second)
            refuse(device.designation + ": " + name + " is given twice; give it once", ErrorCode::duplicate_name);
    }

    Parameter value(const Gathered &device, const std::string &name, const std::string &text) const {
        const auto rules = parameter_rules(device.kind);
        const auto rule = std::find_if(rules.begin(), rules.end(), [&](const auto &each) { return each.name == name; });
        const std::string object = device.designation + ": ";
        if (rule == rules.end()) {
            std::vector<std::string_view> known;
            for (const ParameterRule &each : rules)
                known.push_back(each.name);
            refuse(object + "a " + std::string(to_text(device.kind)) + " has no parameter '" + name +
                       "'; known: " + (known.empty() ? "none" : listed(known)),
                   ErrorCode::bad_value);
        }
        switch (rule->type) {
        case ParameterRule::Type::number:
            if (const auto number = parse_number(text))
                return *number;
            refuse(object + name + " '" + text +
                       "' is not a finite number; write one as 12.5, with a point and no unit",
                   ErrorCode::bad_value);
        case ParameterRule::Type::flag:
            if (text != "true" && text != "false")
                refuse(object + name + " '" + text + "' must be true or false", ErrorCode::bad_value);
            return text == "true";
        case ParameterRule::Type::word:
        case ParameterRule::Type::text:
            break;
        }
        return text;
    }

    const std::string &file_;
    std::size_t line_ = 0;
    std::vector<Gathered> devices_;
    std::unordered_map<std::string, std::size_t> index_;
};

} // namespace

std::string write_wiring_table(const Circuit &circuit) {
    std::string csv;
    append_csv_row(csv, header);
    for (const Device &device : circuit.devices()) {
        for (const Device::Terminal &each : device.terminals)
            append_csv_row(csv,
                           {device.designation, to_text(device.kind), each.name, circuit.net_name(each.net), "", ""});
        for (const auto &[name, value] : device.parameters)
            append_csv_row(csv, {device.designation, to_text(device.kind), "", "", name, to_text(value)});
    }
    return csv;
}

Circuit read_wiring_table(std::string_view bytes, const std::string &name) {
    const std::string_view csv = without_byte_order_mark(bytes);
    check_text_file(csv, name);
    const std::vector<CsvRow> rows = read_csv(csv, name);
    if (rows.empty() || !std::equal(header.begin(), header.end(), rows[0].fields.begin(), rows[0].fields.end()))
        throw FileError(ErrorCode::unreadable, name, rows.empty() ? 1 : rows[0].line,
                        "the first row must be device,kind,terminal,net,parameter,value, separated by commas");
    TableReader reader(name);
    for (std::size_t i = 1; i < rows.size(); ++i)
        reader.row(rows[i]);
    return reader.circuit();
}

} // namespace stopspan
