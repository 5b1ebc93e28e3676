#include "stopspan/installation.hpp"

#include "stopspan/error.hpp"
#include "stopspan/files.hpp"
#include "stopspan/sheets.hpp"
#include "stopspan/wiring.hpp"

#include <algorithm>
#include <filesystem>
#include <variant>

namespace stopspan {
namespace {

// In small letters, without the point: "PLAN.DXF" is a dxf file.
std::string suffix_of(const std::string &path) {
    std::string suffix = std::filesystem::path(path).extension().string();
    for (char &letter : suffix)
        if (letter >= 'A' && letter <= 'Z')
            letter += 'a' - 'A';
    return suffix.empty() ? suffix : suffix.substr(1);
}

// @returns the name of a format of `file_formats`, or the exporter
std::variant<std::string_view, const Exporter *> format_for(const std::string &path, const ExporterRegistry &registry,
                                                            const std::string &format) {
    const std::string suffix = suffix_of(path), &wanted = format.empty() ? suffix : format;
    if (const auto *file = std::ranges::find(file_formats, wanted); file != file_formats.end())
        return *file;
    if (format.empty() && suffix.empty())
        throw Error(ErrorCode::no_exporter,
                    "'" + path +
                        "': no suffix tells the format; add one or name the format; known: " + registry.listing());
    if (format.empty()) {
        if (const Exporter *exporter = registry.with_suffix(suffix))
            return exporter;
    } else if (std::ranges::count(registry.names(), format)) {
        return &registry.find(format);
    }
    throw Error(ErrorCode::no_exporter, "'" + path + "': no exporter '" + wanted + "'; known: " + registry.listing());
}

// "plan.svg" and the third of twelve sheets: "plan-03.svg". Numbers have the same length, so that files sort.
std::string path_of_sheet(const std::string &path, std::string number, std::size_t digits) {
    number.insert(0, digits - std::min(digits, number.size()), '0');
    const std::filesystem::path whole(path);
    return (whole.parent_path() / whole.stem()).string() + "-" + number + whole.extension().string();
}

void write_each_sheet(const std::string &path, const Exporter &exporter, const Drawing &drawing) {
    std::size_t digits = 0;
    for (const Sheet &sheet : drawing.sheets)
        digits = std::max(digits, sheet.number.size());
    std::vector<std::pair<std::string, std::string>> files; // all of them before the first is written: it may fail
    for (std::size_t i = 0; i < drawing.sheets.size(); ++i)
        files.emplace_back(path_of_sheet(path, drawing.sheets[i].number, digits),
                           exported(exporter, one_sheet(drawing, i)));
    for (const auto &[file, bytes] : files)
        write_file(file, bytes);
}

Verdict check_wired(const Description &description, const Circuit &wired, CheckOptions options) {
    if (!options.asked && !description.asks_nothing())
        options.asked = asked_of(description, wired);
    for (const auto &[name, value] : description.limits())
        options.limits.emplace(name, value); // what the caller says goes before the file
    options.fault_exclusions.insert(options.fault_exclusions.end(), description.fault_exclusions().begin(),
                                    description.fault_exclusions().end());
    options.plan = &description;
    if (std::ranges::any_of(description.stops(),
                            [&](const StopDevice &stop) { return description.place_of(stop).has_value(); }))
        options.control_lines = control_lines(description, wired);
    options.waivers.insert(options.waivers.end(), description.waivers().begin(), description.waivers().end());
    return check(wired, options);
}

// Sheets and lists show what stops cut, and the way to them.
Verdict check_for_reach(const Description &description, const Circuit &wired) {
    CheckOptions options;
    options.rules = {"stop-cuts", "stop-spares", "stop-reach", "one-origin"};
    options.repairs = false;
    return check_wired(description, wired, std::move(options));
}

} // namespace

Installation Installation::load(const std::string &path) {
    if (suffix_of(path) == "csv") {
        Installation made(std::filesystem::path(path).stem().string());
        made.recorded = read_wiring_table(read_file(path), path);
        return made;
    }
    InstallationFile file = read_installation(read_file(path), path);
    Installation made(file.description.name);
    made.description = std::move(file.description);
    made.recorded = std::move(file.recorded);
    return made;
}

void Installation::save(const std::string &path) const {
    if (suffix_of(path) != "xml")
        throw FileError(ErrorCode::unwritable, path, 0,
                        "an installation is saved as .xml; other formats are made by export");
    write_file(path, write_installation({description, recorded}));
}

Circuit Installation::circuit() const {
    return wire(description, recorded);
}

Verdict Installation::check(CheckOptions options) const {
    return check_wired(description, circuit(), std::move(options));
}

Sizes Installation::sizes(const SizeOptions &options) const {
    return stopspan::sizes(description, circuit(), options);
}

Drawing Installation::drawing() const {
    const Wired wired = wire_in_places(description, recorded);
    return draw(description, wired, check_for_reach(description, wired.circuit));
}

std::vector<List> Installation::lists() const {
    const Wired wired = wire_in_places(description, recorded);
    return stopspan::lists(description, wired, check_for_reach(description, wired.circuit));
}

void Installation::export_lists(const std::string &folder) const {
    const std::vector<List> made = lists();
    std::error_code error;
    std::filesystem::create_directories(folder, error);
    if (error)
        throw FileError(ErrorCode::unwritable, folder, 0,
                        "the folder cannot be made: " + error.message() + "; name another");
    for (const List &list : made)
        write_file((std::filesystem::path(folder) / (list.name + ".csv")).string(), write_list(list));
}

std::size_t Installation::record_commissioning(const std::string &path) {
    const std::vector<TestRecord> records = read_commissioning(read_file(path), path);
    Description changed = description;
    for (const TestRecord &record : records) {
        try {
            changed.record(record);
        } catch (const Error &error) {
            throw FileError(error.code(), path, 0, error.what());
        }
    }
    description = std::move(changed);
    return records.size();
}

void Installation::export_to(const std::string &path, const ExporterRegistry &registry,
                             const ExportOptions &options) const {
    const auto format = format_for(path, registry, options.format); // before the work of drawing
    if (const auto *exporter = std::get_if<const Exporter *>(&format)) {
        const Drawing sheets = drawing();
        return options.each_sheet ? write_each_sheet(path, **exporter, sheets)
                                  : write_file(path, exported(**exporter, sheets));
    }
    const std::string_view file = std::get<std::string_view>(format);
    if (options.each_sheet)
        throw Error(ErrorCode::bad_value,
                    "'" + path + "': " + std::string(file) +
                        " has no sheets to write one by one; leave that out or take another format");
    const Circuit wired = circuit();
    if (file == "csv")
        return write_file(path, write_wiring_table(wired));
    const Proved proved{wired, check_wired(description, wired, {})};
    write_file(path, write_installation({description, recorded}, &proved));
}

} // namespace stopspan
