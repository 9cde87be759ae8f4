// Pictures of figures over time, as SVG text: strips stacked one above the other on one time axis.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace coldtank::io {

// Days are days since 1970-01-01, with fractions; values are in the unit that a heading names. What
// is not finite is left out of the picture.
struct PicturePoint {
    double day;
    double value;
};

// How a line is told from others without colour.
enum class Stroke { solid, dashed, dotted, dash_dotted };
// What stands at the points of a line.
enum class Dots { none, full, hollow };

struct PictureLine {
    std::string name = {};  // stands at its right end; empty: nothing does
    std::vector<PicturePoint> points = {};
    Stroke stroke = Stroke::solid;
    Dots dots = Dots::none;
    bool joined = true;                  // a line through the points; of one point a dot
    std::vector<PicturePoint> low = {};  // the lower edge of a band around it
    std::vector<PicturePoint> high = {};
};

// Always in sight: where it is far off, its name and the share that the last value is of it stand
// at the edge of the frame.
struct PictureLimit {
    std::string name;  // "warn"
    double value;
    Stroke stroke = Stroke::dashed;
};

// Values from low to high; an infinite end is that of the frame. Of grave ones the hatching is
// denser.
struct PictureZone {
    double low;
    double high;
    bool grave = false;
};

struct PictureMark {
    double day;
    std::string label = {};       // above the frame
    std::vector<double> at = {};  // values where a rhomb stands
};

struct PictureStrip {
    std::string heading;
    std::vector<std::string> notes = {};  // sentences below the heading
    std::vector<PictureLine> lines = {};
    std::vector<PictureLimit> limits = {};
    std::vector<PictureZone> zones = {};
    std::vector<PictureMark> marks = {};
    bool from_zero = false;  // the value axis starts at 0
};

// Limits of a figure that warns below `cold`, above `warn` and fails above `fail`, with their
// zones.
void add_limits(std::optional<double> cold, std::optional<double> warn, std::optional<double> fail,
                PictureStrip& strip);

struct Picture {
    std::string title;
    std::string description = {};
    std::vector<PictureStrip> strips = {};
};

// How every picture starts.
inline constexpr std::string_view kPictureStart =
    "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"coldtank\" ";
// Whether a file is a picture of this program, of this version or an earlier one.
bool is_picture(std::string_view file);

// One file of pictures one below the other; each has a time axis of its own.
std::string svg_of(std::string_view title, std::string_view description,
                   std::span<const Picture> pictures);

// The ticks of an axis: multiples of 1, 2, 2.5 or 5 times a power of ten, so that at most `most` of
// them, 2..., span from low to high. None of what is not finite.
struct ValueTicks {
    double step = 0;
    std::vector<double> at = {};  // the first is at or below low, the last at or above high
};
ValueTicks value_ticks(double low, double high, int most);

}  // namespace coldtank::io
