#pragma once

#include "group_writer.hpp"

#include <vector>

namespace stopspan::dxf {

/// Handles of what every file has, below the first free one.
enum Fixed : std::uint32_t {
    vport_table = 1,
    ltype_table,
    layer_table,
    style_table,
    view_table,
    ucs_table,
    appid_table,
    dimstyle_table,
    block_record_table,
    root_dictionary = 0x10,
    group_dictionary,
    layout_dictionary,
    model_layout,
    model_space = 0x20,
    model_block,
    model_end,
    first_table_entry = 0x40, ///< linetypes, layers, styles ...
};

inline constexpr double sheet_width_mm = 420, sheet_height_mm = 297;

struct Extents {
    double width_mm, height_mm; ///< of all sheets in model space, from 0 to the right and from 0 downwards
};

/// The sheet of paper a program shows beside the model: it looks at one sheet there, at full size.
struct Layout {
    std::string name;
    Point looks_at; ///< lower left corner of the sheet in model space
    std::string block_name;
    std::uint32_t object, record, block, block_end, paper_view, viewport;
};

struct BlockRecord {
    std::string_view name;
    std::uint32_t handle, layout; ///< no layout: 0
};

/// HEADER and CLASSES. @param handle_seed  above all handles of the file
void write_header(GroupWriter &out, const Extents &extents, std::uint32_t handle_seed);
/// TABLES.
void write_tables(GroupWriter &out, const Extents &extents, const std::vector<BlockRecord> &records);
/// BLOCK or ENDBLK of a block record.
void write_block_begin(GroupWriter &out, std::string_view name, std::uint32_t record, std::uint32_t handle,
                       bool has_attributes);
void write_block_end(GroupWriter &out, std::uint32_t record, std::uint32_t handle);
/// What stands on the paper of a layout.
void write_viewports(GroupWriter &out, const Layout &layout);
void write_objects(GroupWriter &out, const Extents &extents, const std::vector<Layout> &layouts);

} // namespace stopspan::dxf
