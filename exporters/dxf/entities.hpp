#pragma once

#include "group_writer.hpp"

namespace stopspan::dxf {

/// Draws primitives into one block or space, moved by an offset.
class EntityWriter {
public:
    EntityWriter(GroupWriter &out, std::uint32_t owner, Point offset = {})
        : out_(out), owner_(owner), offset_(offset) {}
    void write(const Primitive &primitive);
    void write(const Insert &insert, const Symbol &symbol);
    void attribute_definition(const Symbol &symbol, const std::string &tag);

private:
    void put(const Line &line);
    void put(const Polyline &line);
    void put_with_vertices(const Polyline &line);
    void put(const Circle &circle);
    void put(const Arc &arc);
    void put(const Text &text);
    Point moved(Point p) const { return {p.x_mm + offset_.x_mm, p.y_mm + offset_.y_mm}; }
    void linetype(bool dashed);

    GroupWriter &out_;
    std::uint32_t owner_;
    Point offset_;
};

/// Name of the layer in the file.
std::string layer_name(Layer layer);
inline constexpr std::string_view text_style = "SHEET_TEXT", dashed_linetype = "DASHED";

} // namespace stopspan::dxf
