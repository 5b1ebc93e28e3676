#pragma once

#include "stopspan/drawing.hpp"

#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace stopspan {

/// Where bytes go: a file, a string, a stream.
class ByteSink {
public:
    virtual ~ByteSink() = default;
    virtual void write(std::string_view bytes) = 0;
};

/// One output format. Stateless: the same drawing gives the same bytes.
class Exporter {
public:
    virtual ~Exporter() = default;
    virtual std::string_view name() const noexcept = 0; ///< "dxf"; also the file suffix
    virtual void write(const Drawing &drawing, ByteSink &out) const = 0;
};

/// Version of this interface; a plugin built for another is refused.
inline constexpr int exporter_interface_version = 1;

/// A plugin is a shared library with these two functions, made by STOPSPAN_EXPORTER(Type).
extern "C" {
using ExporterVersionFunction = int();
using ExporterFunction = const Exporter *();
}
#define STOPSPAN_EXPORTER(Type)                                                                                        \
    extern "C" int stopspan_exporter_version() {                                                                       \
        return stopspan::exporter_interface_version;                                                                   \
    }                                                                                                                  \
    extern "C" const stopspan::Exporter *stopspan_exporter() {                                                         \
        static const Type instance;                                                                                    \
        return &instance;                                                                                              \
    }

/// The formats known in this process.
class ExporterRegistry {
public:
    /// @throws Error (duplicate_name) for a name taken
    void add(std::shared_ptr<const Exporter> exporter);
    /// Loads every shared library of a folder, sorted by name. One that cannot be used is skipped and named in
    /// the result, one line each.
    std::vector<std::string> load_folder(const std::string &folder);
    /// @throws Error (no_exporter) that lists the known ones
    const Exporter &find(std::string_view name) const;
    std::vector<std::string> names() const;

private:
    std::vector<std::shared_ptr<const Exporter>> exporters_;
};

} // namespace stopspan
