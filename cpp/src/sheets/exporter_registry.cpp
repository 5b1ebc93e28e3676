#include "stopspan/exporter.hpp"

#include "base/words.hpp"

#include <algorithm>
#include <dlfcn.h>
#include <filesystem>

namespace stopspan {
namespace {

struct LibraryCloser {
    void operator()(void *library) const { dlclose(library); }
};
using Library = std::unique_ptr<void, LibraryCloser>;

std::string last_loader_error() {
    const char *text = dlerror();
    return text ? text : "unknown loader error";
}

// A plugin is asked for its version before anything else of it is touched.
std::shared_ptr<const Exporter> load_plugin(const std::string &path) {
    Library library(dlopen(path.c_str(), RTLD_NOW | RTLD_LOCAL));
    if (!library)
        throw Error(ErrorCode::no_exporter, last_loader_error());
    const auto version = reinterpret_cast<ExporterVersionFunction *>(dlsym(library.get(), "stopspan_exporter_version"));
    const auto exporter = reinterpret_cast<ExporterFunction *>(dlsym(library.get(), "stopspan_exporter"));
    if (!version || !exporter)
        throw Error(ErrorCode::no_exporter,
                    "is no exporter: stopspan_exporter_version or stopspan_exporter is missing");
    if (const int found = version(); found != exporter_interface_version)
        throw Error(ErrorCode::no_exporter, "was built for exporter interface " + std::to_string(found) + ", this is " +
                                                std::to_string(exporter_interface_version) + "; build it again");
    const Exporter *instance = exporter();
    if (!instance)
        throw Error(ErrorCode::no_exporter, "gives no exporter");
    return {instance, [kept = std::shared_ptr<void>(std::move(library))](const Exporter *) {}};
}

} // namespace

void ExporterRegistry::add(std::shared_ptr<const Exporter> exporter) {
    const std::string name(exporter->name());
    for (const auto &known : exporters_)
        if (known->name() == name)
            throw Error(ErrorCode::duplicate_name,
                        "an exporter '" + name + "' is already known; remove one of the two");
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
        try {
            add(load_plugin(path));
        } catch (const std::exception &problem) {
            problems.push_back(path + ": skipped: " + problem.what());
        }
    }
    return problems;
}

const Exporter &ExporterRegistry::find(std::string_view name) const {
    for (const auto &exporter : exporters_)
        if (exporter->name() == name)
            return *exporter;
    const auto known = names();
    throw Error(ErrorCode::no_exporter,
                "no exporter '" + std::string(name) + "'; known: " + (known.empty() ? "none" : listed(known)));
}

std::vector<std::string> ExporterRegistry::names() const {
    std::vector<std::string> names;
    for (const auto &exporter : exporters_)
        names.emplace_back(exporter->name());
    std::sort(names.begin(), names.end());
    return names;
}

} // namespace stopspan
