#include "stopspan/installation.hpp"

#include "base/words.hpp"
#include "stopspan/error.hpp"
#include "stopspan/files.hpp"
#include "stopspan/sheets.hpp"
#include "stopspan/wiring.hpp"

#include <algorithm>
#include <filesystem>

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

std::string known_formats(const ExporterRegistry &registry) {
    std::vector<std::string> names = registry.names();
    names.insert(names.end(), {"csv", "xml"}); // not drawings, so not of the registry
    std::ranges::sort(names);
    return listed(names);
}

std::string drawn(const Exporter &exporter, const Drawing &drawing) {
    struct Bytes final : ByteSink {
        std::string text;
        void write(std::string_view bytes) override { text += bytes; }
    } bytes;
    try {
        exporter.write(drawing, bytes);
    } catch (const Error &) {
        throw;
    } catch (const std::exception &problem) { // a plugin is not ours: whatever it throws is told under its name
        throw Error(ErrorCode::no_exporter, "the exporter '" + std::string(exporter.name()) +
                                                "' failed: " + problem.what() + "; mend or remove that plugin");
    }
    return bytes.text;
}

// A circuit entered alone has nothing asked in words: it is checked by the rule for circuits.
bool asks_nothing(const Description &description) {
    return description.stops().empty() && description.machines().empty() && description.asked_by_hand().empty();
}

Verdict check_wired(const Description &description, const Circuit &wired, CheckOptions options) {
    if (!options.asked && !asks_nothing(description))
        options.asked = asked_of(description, wired);
    for (const auto &[name, value] : description.limits())
        options.limits.emplace(name, value); // what the caller says goes before the file
    options.fault_exclusions.insert(options.fault_exclusions.end(), description.fault_exclusions().begin(),
                                    description.fault_exclusions().end());
    options.plan = &description;
    options.waivers.insert(options.waivers.end(), description.waivers().begin(), description.waivers().end());
    return check(wired, options);
}

// Sheets and lists show what stops cut, and the way to them.
Verdict check_for_reach(const Description &description, const Circuit &wired) {
    CheckOptions options;
    options.rules = {"stop-cuts", "stop-spares", "stop-reach"};
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

void Installation::export_to(const std::string &path, const ExporterRegistry &registry, std::string format) const {
    if (format.empty())
        format = suffix_of(path);
    if (format == "xml")
        return write_file(path, write_installation({description, recorded}));
    if (format == "csv")
        return write_file(path, write_wiring_table(circuit()));
    if (format.empty())
        throw Error(ErrorCode::no_exporter,
                    "'" + path +
                        "': no suffix tells the format; add one or name the format; known: " + known_formats(registry));
    if (!std::ranges::count(registry.names(), format)) // before the work of drawing
        throw Error(ErrorCode::no_exporter,
                    "'" + path + "': no exporter '" + format + "'; known: " + known_formats(registry));
    write_file(path, drawn(registry.find(format), drawing()));
}

} // namespace stopspan
