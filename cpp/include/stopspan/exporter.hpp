#pragma once

#include "stopspan/drawing.hpp"

#include <array>
#include <memory>
#include <mutex>
#include <span>
#include <string>
#include <string_view>
#include <tuple>
#include <vector>

namespace stopspan {

/// Where bytes go: a file, a string, a stream.
class ByteSink {
public:
    virtual ~ByteSink() = default;
    virtual void write(std::string_view bytes) = 0;
};

/// One output format. Stateless: the same drawing gives the same bytes; several threads may write at once.
class Exporter {
public:
    virtual ~Exporter() = default;
    /// What the format is called by: "dxf-r12". Small letters, digits and '-'.
    virtual std::string_view name() const noexcept = 0;
    /// File suffixes that mean this format, in small letters without the point; none: by its name only.
    virtual std::span<const std::string_view> suffixes() const noexcept = 0;
    virtual void write(const Drawing &drawing, ByteSink &out) const = 0;
};

/// Version of this interface, the drawing included; a plugin built for another is refused.
inline constexpr int exporter_interface_version = 2;

/// A plugin is a shared library with these two functions, made by STOPSPAN_EXPORTERS(Type, ...). The second gives
/// the exporters, with a null pointer after the last.
extern "C" {
using ExporterVersionFunction = int();
using ExportersFunction = const Exporter *const *();
}
#define STOPSPAN_EXPORTERS(...)                                                                                        \
    extern "C" int stopspan_exporter_version() {                                                                       \
        return stopspan::exporter_interface_version;                                                                   \
    }                                                                                                                  \
    extern "C" const stopspan::Exporter *const *stopspan_exporters() {                                                 \
        static const std::tuple<__VA_ARGS__> instances{};                                                              \
        static const auto list = std::apply(                                                                           \
            [](const auto &...each) {                                                                                  \
                return std::array<const stopspan::Exporter *, sizeof...(each) + 1>{&each..., nullptr};                 \
            },                                                                                                         \
            instances);                                                                                                \
        return list.data();                                                                                            \
    }

/// Formats that are no drawings: the wiring table and the installation file. No exporter may take their names.
inline constexpr std::array<std::string_view, 2> file_formats{"csv", "xml"};

/// The formats known in this process. Several threads may use it at once; nothing is ever taken out.
class ExporterRegistry {
public:
    /// @throws Error: duplicate_name for a name or suffix taken; bad_value for one of other characters
    void add(std::shared_ptr<const Exporter> exporter);
    /// Loads every shared library of a folder, sorted by name. One that cannot be used is skipped and named in
    /// the result, one line each.
    std::vector<std::string> load_folder(const std::string &folder);
    /// @throws Error (no_exporter) that lists the known ones
    const Exporter &find(std::string_view name) const;
    /// Null when no exporter has that suffix.
    const Exporter *with_suffix(std::string_view suffix) const;
    std::vector<std::string> names() const; ///< sorted
    /// Names of all formats, those of `file_formats` too; suffixes that are not the name in brackets.
    std::string listing() const;

private:
    std::vector<std::shared_ptr<const Exporter>> all() const;
    mutable std::mutex mutex_;
    std::vector<std::shared_ptr<const Exporter>> exporters_;
};

/// What an exporter makes of a drawing. @throws Error (no_exporter) naming the exporter, when it fails
std::string exported(const Exporter &exporter, const Drawing &drawing);

} // namespace stopspan
