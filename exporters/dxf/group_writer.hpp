#pragma once

#include "stopspan/exporter.hpp"

#include <cstdint>
#include <string>
#include <string_view>

namespace stopspan::dxf {

/// Versions of the format: AC1009, which has neither subclasses nor owners nor layouts nor objects; AC1015, the last
/// but one whose texts are ASCII; AC1021, the first in UTF-8.
enum class Version { r12, r2000, r2007 };

/// Writes group code and value pairs, and gives out handles.
class GroupWriter {
public:
    GroupWriter(ByteSink &sink, Version version) : sink_(&sink), version_(version) {}
    /// Writes nothing, and only gives out handles.
    explicit GroupWriter(Version version) : sink_(nullptr), version_(version) {}
    ~GroupWriter() { flush(); }
    GroupWriter(const GroupWriter &) = delete;
    GroupWriter &operator=(const GroupWriter &) = delete;

    GroupWriter &word(int code, std::string_view value); ///< as it stands
    GroupWriter &text(int code, std::string_view utf8);  ///< codes of the format as \U+XXXX
    GroupWriter &subclass(std::string_view name);        ///< 100; nothing in R12
    GroupWriter &owner(std::uint32_t value);             ///< 330; nothing in R12
    GroupWriter &whole(int code, long long value);
    GroupWriter &real(int code, double value);
    GroupWriter &handle(int code, std::uint32_t value);
    GroupWriter &point(int code, double x, double y); ///< codes `code`, `code` + 10, `code` + 20 with z = 0
    /// 0 type, 5 handle, 330 owner, 100 AcDbEntity, 8 layer.
    std::uint32_t entity(std::string_view type, std::uint32_t owner, std::string_view layer);

    Version version() const { return version_; }

    std::uint32_t new_handle() { return next_handle_++; }
    std::uint32_t next_handle() const { return next_handle_; }
    void flush();

private:
    void code(int code);
    void end_of_pair();
    ByteSink *sink_;
    const Version version_;
    std::string buffer_;
    std::uint32_t next_handle_ = first_free_handle;

public:
    /// Below it: handles of tables and of what is always there.
    static constexpr std::uint32_t first_free_handle = 0x100;
};

} // namespace stopspan::dxf
