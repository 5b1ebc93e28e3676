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
    paper_layout,
    model_space = 0x20,
    paper_space,
    model_block,
    model_end,
    paper_block,
    paper_end,
    first_table_entry = 0x40, ///< linetypes, layers, styles ...
};

struct Extents {
    double width_mm, height_mm; ///< of all sheets in model space, from 0 to the right and from 0 downwards
};

/// HEADER and CLASSES. @param handle_seed  above all handles of the file
void write_header(GroupWriter &out, const Extents &extents, std::uint32_t handle_seed);
/// TABLES. @param records  names and handles of the block records of symbols
void write_tables(GroupWriter &out, const Extents &extents,
                  const std::vector<std::pair<std::string, std::uint32_t>> &records);
/// BLOCK or ENDBLK of a block record.
void write_block_begin(GroupWriter &out, std::string_view name, std::uint32_t record, std::uint32_t handle,
                       bool has_attributes);
void write_block_end(GroupWriter &out, std::uint32_t record, std::uint32_t handle);
void write_objects(GroupWriter &out, const Extents &extents);

} // namespace stopspan::dxf
