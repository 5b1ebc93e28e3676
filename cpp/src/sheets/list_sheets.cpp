#include "sheets/special_sheets.hpp"

#include "sheets/row_plan.hpp"
#include "sheets/sheet_pen.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

namespace stopspan {
namespace {

constexpr double line_mm = 4.5, gap_mm = 3, box_mm = 20, box_row_mm = 7.5, between_mm = 10;
constexpr double title_high_mm = 10;
constexpr double least_mm = 15; // to which a column gives way, its heading apart
constexpr int most_beside = 3;
constexpr double bottom_mm = content_bottom_mm + 5, width_mm = content_right_mm - content_left_mm,
                 room_high_mm = content_top_mm - line_mm - 1.5 - bottom_mm;

// "length_m" as it is read: "length, m".
std::string heading_of(std::string_view column) {
    constexpr std::pair<std::string_view, std::string_view> units[]{
        {"_mm2", ", mm\u00B2"}, {"_m", ", m"}, {"_s", ", s"}};
    std::string text(column);
    for (const auto &[suffix, unit] : units)
        if (column.ends_with(suffix)) {
            text = std::string(column.substr(0, column.size() - suffix.size())) + std::string(unit);
            break;
        }
    std::ranges::replace(text, '_', ' ');
    return text;
}

class Tables {
public:
    std::vector<SpecialSheet> draw(const std::vector<List> &lists);

    std::vector<SpecialSheet> sheets;
    bool open = false;                   ///< everything on the last sheet begins and ends there: it can take more
    double free_below_mm = room_high_mm; ///< where it is free

private:
    class Table;
};

class Tables::Table {
public:
    Table(const List &list, Tables &all) : list_(list), all_(all) {
        for (const std::string &column : list.columns)
            headings_.push_back(heading_of(column));
        find_widths();
        remark_ = wrapped(list.remark, small_text_mm, total(widths_));
        if (list.remark.empty())
            remark_.clear();
    }

    void draw() {
        double height = head_high_mm();
        for (const std::vector<std::string> &row : list_.rows)
            height += row_height_mm(row, widths_);
        if (all_.open && all_.free_below_mm - title_high_mm - height >= bottom_mm)
            begin_below();
        else
            begin_sheet();
        const std::size_t first = all_.sheets.size();
        for (const std::vector<std::string> &row : list_.rows)
            write(row);
        end_block();
        all_.open = all_.sheets.size() == first && x_ == content_left_mm;
        all_.free_below_mm = y_ - title_high_mm;
    }

private:
    // As many tables beside each other as make the fewest sheets.
    void find_widths() {
        std::vector<double> natural;
        for (std::size_t c = 0; c < headings_.size(); ++c) {
            double cells = text_width_mm(headings_[c], small_text_mm);
            least_.push_back(std::max(least_mm, cells));
            for (const auto &row : list_.rows)
                cells = std::max(cells, text_width_mm(row[c], small_text_mm));
            natural.push_back(is_box(c) ? std::max(box_mm, cells) : cells);
        }
        widths_ = natural;
        double fewest = 0;
        for (int beside = 1; beside <= most_beside; ++beside) {
            const double room_mm = (width_mm - between_mm * (beside - 1)) / beside;
            std::vector<double> widths = natural;
            if (!shrink(widths, room_mm))
                break;
            double height_mm = 0;
            for (const auto &row : list_.rows)
                height_mm += row_height_mm(row, widths);
            const double sheets = std::ceil(height_mm / (room_high_mm * beside));
            if (beside == 1 || sheets < fewest) {
                fewest = sheets;
                widths_ = std::move(widths);
            }
        }
    }

    // Those with most to spare give way until all fit; their cells then take several lines.
    bool shrink(std::vector<double> &widths, double room_mm) const {
        while (total(widths) > room_mm) {
            std::size_t widest = 0;
            for (std::size_t c = 1; c < widths.size(); ++c)
                if (widths[c] - least_[c] > widths[widest] - least_[widest])
                    widest = c;
            if (widths[widest] - 1 < least_[widest])
                return false;
            widths[widest] -= 1;
        }
        return true;
    }

    double row_height_mm(const std::vector<std::string> &row, const std::vector<double> &widths) const {
        std::size_t lines = 1;
        for (std::size_t c = 0; c < row.size(); ++c)
            lines = std::max(lines, wrapped(row[c], small_text_mm, widths[c]).size());
        const double text_mm = line_mm * static_cast<double>(lines);
        return list_.boxes > 0 ? std::max(text_mm + 1, box_row_mm) : text_mm;
    }

    bool is_box(std::size_t column) const { return column + list_.boxes >= headings_.size(); }
    static double total(const std::vector<double> &widths) {
        return std::accumulate(widths.begin(), widths.end(), gap_mm * static_cast<double>(widths.size()));
    }

    void write(const std::vector<std::string> &row) {
        const double height = row_height_mm(row, widths_);
        if (y_ - height < bottom_mm)
            next_block();
        SheetPen pen(sheet(), Layer::designations);
        double x = x_;
        for (std::size_t c = 0; c < row.size(); ++c) {
            double y = y_ - line_mm + 0.75;
            for (std::string &line : wrapped(row[c], small_text_mm, widths_[c])) {
                pen.text({x, y}, small_text_mm, std::move(line));
                y -= line_mm;
            }
            x += widths_[c] + gap_mm;
        }
        y_ -= height;
        if (list_.boxes > 0)
            pen.line({x_, y_}, {x_ + total(widths_) - gap_mm, y_});
    }

    // Upright lines beside the boxes.
    void end_block() {
        if (list_.boxes == 0)
            return;
        SheetPen pen(sheet(), Layer::designations);
        double x = x_;
        for (std::size_t c = 0; c < widths_.size(); ++c) {
            if (is_box(c))
                pen.line({x - gap_mm / 2, y_}, {x - gap_mm / 2, head_});
            x += widths_[c] + gap_mm;
        }
        pen.line({x - gap_mm, y_}, {x - gap_mm, head_});
    }

    void begin_sheet() {
        all_.sheets.emplace_back(list_.title, list_.title);
        x_ = content_left_mm;
        write_head(content_top_mm);
    }

    // Under what is there already, with a title of its own.
    void begin_below() {
        SpecialSheet &shared = all_.sheets.back();
        shared.sheet.title += ", " + list_.title;
        shared.document_type = "Lists";
        x_ = content_left_mm;
        SheetPen(sheet(), Layer::designations)
            .text({x_, all_.free_below_mm - normal_text_mm}, normal_text_mm, list_.title);
        write_head(all_.free_below_mm - title_high_mm);
    }

    void next_block() {
        end_block();
        if (x_ + 2 * total(widths_) + between_mm > content_right_mm)
            return begin_sheet();
        x_ += total(widths_) + between_mm;
        write_head(content_top_mm);
    }

    double head_high_mm() const { return line_mm * static_cast<double>(remark_.size() + 1) + 1.5; }

    void write_head(double top) {
        SheetPen pen(sheet(), Layer::designations);
        double y = top;
        for (const std::string &line : remark_)
            pen.text({x_, y -= line_mm}, small_text_mm, line);
        y -= line_mm;
        double x = x_;
        for (std::size_t c = 0; c < headings_.size(); ++c) {
            pen.text({x, y}, small_text_mm, headings_[c]);
            x += widths_[c] + gap_mm;
        }
        head_ = y_ = y - 1.5;
        pen.line({x_, y_}, {x_ + total(widths_) - gap_mm, y_});
    }

    Sheet &sheet() { return all_.sheets.back().sheet; }

    const List &list_;
    Tables &all_;
    std::vector<std::string> headings_, remark_;
    std::vector<double> least_, widths_; ///< of the texts
    double x_ = 0, y_ = 0, head_ = 0;
};

std::vector<SpecialSheet> Tables::draw(const std::vector<List> &lists) {
    for (const List &list : lists)
        if (!list.rows.empty())
            Table(list, *this).draw();
    return std::move(sheets);
}

} // namespace

std::vector<SpecialSheet> list_sheets(const std::vector<List> &lists) {
    return Tables().draw(lists);
}

} // namespace stopspan
