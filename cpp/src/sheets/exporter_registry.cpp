#include "stopspan/exporter.hpp"

#include "base/words.hpp"

#include <algorithm>
#include <dlfcn.h>
#include <filesystem>

namespace stopspan {
namespace {

std::string last_loader_error() {
    const char *text = dlerror();
    return text ? text : "unknown loader error";
}

// A plugin is asked for its version before anything else of it is touched.
std::vector<std::shared_ptr<const Exporter>> load_plugin(const std::string &path) {
    std::shared_ptr<void> library(dlopen(path.c_str(), RTLD_NOW | RTLD_LOCAL), [](void *opened) {
        if (opened)
            dlclose(opened);
    });
    if (!library)
        throw Error(ErrorCode::no_exporter, last_loader_error());
    const auto version = reinterpret_cast<ExporterVersionFunction *>(dlsym(library.get(), "stopspan_exporter_version"));
    if (!version)
        throw Error(ErrorCode::no_exporter, "is no exporter: stopspan_exporter_version is missing");
    if (const int found = version(); found != exporter_interface_version)
        throw Error(ErrorCode::no_exporter, "was built for exporter interface " + std::to_string(found) + ", this is " +
                                                std::to_string(exporter_interface_version) + "; build it again");
    const auto list = reinterpret_cast<ExportersFunction *>(dlsym(library.get(), "stopspan_exporters"));
    if (!list)
        throw Error(ErrorCode::no_exporter, "is no exporter: stopspan_exporters is missing");
    std::vector<std::shared_ptr<const Exporter>> exporters;
    for (const Exporter *const *each = list(); each && *each; ++each)
        exporters.emplace_back(library, *each); // keeps the library
    if (exporters.empty())
        throw Error(ErrorCode::no_exporter, "gives no exporter");
    return exporters;
}

void require_word(std::string_view word, const std::string &what) {
    const auto allowed = [](char c) { return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-'; };
    if (word.empty() || !std::ranges::all_of(word, allowed))
        throw Error(ErrorCode::bad_value,
                    what + " '" + std::string(word) + "' must be of small letters, digits and '-'");
}

} // namespace

void ExporterRegistry::add(std::shared_ptr<const Exporter> exporter) {
    const std::string name(exporter->name());
    require_word(name, "the name of an exporter");
    const auto suffixes = exporter->suffixes();
    for (const std::string_view suffix : suffixes)
        require_word(suffix, "exporter '" + name + "': the suffix");
    const std::lock_guard lock(mutex_);
    const auto refuse = [](const std::string &what) {
        throw Error(ErrorCode::duplicate_name, what + " is already known; remove one of the two");
    };
    if (std::ranges::count(file_formats, name))
        refuse("a format '" + name + "'");
    for (const auto &known : exporters_)
        if (known->name() == name)
            refuse("an exporter '" + name + "'");
    for (const std::string_view suffix : suffixes) {
        const std::string what = "exporter '" + name + "': the suffix '" + std::string(suffix) + "'";
        if (std::ranges::count(file_formats, suffix))
            refuse(what);
        for (const auto &known : exporters_)
            if (std::ranges::count(known->suffixes(), suffix))
                refuse(what + " of '" + std::string(known->name()) + "'");
    }
    exporters_.push_back(std::move(exporter));
}

std::vector<std::string> ExporterRegistry::load_folder(const std::string &folder) {
    namespace fs = std::filesystem;
    std::vector<std::string> paths, problems;
    std::error_code error;
    for (fs::directory_iterator entry(folder, error), end; !error && entry != end; entry.increment(error))
        if (entry->path().extension() == ".so" && entry->is_regular_file(error))
            paths.push_back(entry->path().string());
    if (error)
        problems.push_back(folder + ": cannot be read: " + error.message());
    std::sort(paths.begin(), paths.end());
    for (const std::string &path : paths) {
        const auto attempt = [&](const auto &act) {
            try {
                act();
            } catch (const std::exception &problem) {
                problems.push_back(path + ": skipped: " + problem.what());
            } catch (...) { // a plugin is not ours: it may throw anything
                problems.push_back(path + ": skipped: it throws what is no exception");
            }
        };
        std::vector<std::shared_ptr<const Exporter>> exporters;
        attempt([&] { exporters = load_plugin(path); });
        for (auto &each : exporters)
            attempt([&] { add(std::move(each)); });
    }
    return problems;
}

std::vector<std::shared_ptr<const Exporter>> ExporterRegistry::all() const {
    const std::lock_guard lock(mutex_);
    return exporters_;
}

const Exporter &ExporterRegistry::find(std::string_view name) const {
    for (const auto &exporter : all())
        if (exporter->name() == name)
            return *exporter;
    const auto known = names();
    throw Error(ErrorCode::no_exporter,
                "no exporter '" + std::string(name) + "'; known: " + (known.empty() ? "none" : listed(known)));
}

const Exporter *ExporterRegistry::with_suffix(std::string_view suffix) const {
    for (const auto &exporter : all())
        if (std::ranges::count(exporter->suffixes(), suffix))
            return exporter.get();
    return nullptr;
}

std::vector<std::string> ExporterRegistry::names() const {
    std::vector<std::string> names;
    for (const auto &exporter : all())
        names.emplace_back(exporter->name());
    std::sort(names.begin(), names.end());
    return names;
}

std::string ExporterRegistry::listing() const {
    std::vector<std::string> formats(file_formats.begin(), file_formats.end());
    for (const auto &exporter : all()) {
        std::vector<std::string> others;
        for (const std::string_view suffix : exporter->suffixes())
            if (suffix != exporter->name())
                others.push_back("." + std::string(suffix));
        formats.push_back(std::string(exporter->name()) + (others.empty() ? "" : " (" + listed(others) + ")"));
    }
    std::sort(formats.begin(), formats.end());
    return listed(formats);
}

std::string exported(const Exporter &exporter, const Drawing &drawing) {
    struct Bytes final : ByteSink {
        std::string text;
        void write(std::string_view bytes) override { text += bytes; }
    } bytes;
    const auto failed = [&](const std::string &why) {
        return Error(ErrorCode::no_exporter, "the exporter '" + std::string(exporter.name()) + "' failed: " + why +
                                                 "; mend or remove that plugin");
    };
    try {
        exporter.write(drawing, bytes);
    } catch (const Error &) {
        throw;
    } catch (const std::exception &problem) { // a plugin is not ours: whatever it throws is told under its name
        throw failed(problem.what());
    } catch (...) {
        throw failed("it throws what is no exception");
    }
    return bytes.text;
}

} // namespace stopspan
