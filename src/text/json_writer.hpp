// What a report, a record or a schema consists of, one key after the other: said once, and written
// as whoever listens would have it.
#pragma once

#include <initializer_list>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace coldtank::io {

// Takes the contents in order. In a list the keys are empty.
class Fields {
public:
    virtual ~Fields() = default;

    virtual void number(std::string_view key, std::optional<double> value) = 0;
    virtual void whole(std::string_view key, std::optional<std::size_t> value) = 0;
    virtual void text(std::string_view key, std::string_view value) = 0;
    virtual void truth(std::string_view key, bool value) = 0;
    virtual void null(std::string_view key) = 0;
    virtual void begin_object(std::string_view key) = 0;
    virtual void end_object() = 0;
    virtual void begin_list(std::string_view key) = 0;
    virtual void end_list() = 0;

    // Those that a schema tells apart.
    virtual void text_or_null(std::string_view key, std::string_view value) {  // empty: null
        value.empty() ? null(key) : text(key, value);
    }
    virtual void word(std::string_view key, std::string_view value,
                      std::span<const std::string_view> /*choices*/) {
        text(key, value);
    }
    virtual void fixed(std::string_view key, double value) { number(key, value); }
    // A number, [low, high] where both stand, null where none does.
    virtual void bounds(std::string_view key, std::optional<double> low,
                        std::optional<double> high);
    // Whether a key that not every object has is to be said now. Who describes rather than tells
    // answers always.
    virtual bool has(bool there) { return there; }
    // The same of an object that is null where it is not there.
    virtual bool object_or_null(std::string_view key, bool there) {
        there ? begin_object(key) : null(key);
        return there;
    }
    // A list of objects of one shape, which has a name.
    virtual void begin_objects(std::string_view key, std::string_view /*shape*/,
                               std::size_t /*at_least*/) {
        begin_list(key);
    }
    virtual void end_objects() { end_list(); }

    template <class Fill>
    void object(std::string_view key, Fill fill) {
        begin_object(key);
        fill();
        end_object();
    }
    // An object a item; of none, who describes is shown an empty one.
    template <class Items, class Fill>
    void objects(std::string_view key, std::string_view shape, const Items& items, Fill fill,
                 std::size_t at_least = 0) {
        begin_objects(key, shape, at_least);
        for (const auto& item : items) object({}, [&] { fill(item); });
        if (std::empty(items) && has(false)) {
            const typename Items::value_type sample{};
            object({}, [&] { fill(sample); });
        }
        end_objects();
    }
    template <class Texts>
    void texts(std::string_view key, const Texts& texts) {
        begin_list(key);
        for (const auto& each : texts) text({}, each);
        if (std::empty(texts) && has(false)) text({}, {});
        end_list();
    }
};

// JSON into one string: numbers in their shortest form, texts harmless on a terminal. A number that
// is not finite is null.
class JsonWriter final : public Fields {
public:
    enum class Style { page, line };  // indented, or one line
    explicit JsonWriter(Style style) : style_(style) {}
    // Goes on within the list of an object that another has begun.
    enum class Within { list, empty_list };
    JsonWriter(Style style, Within within)
        : style_(style),
          levels_{{.list = false, .empty = false},
                  {.list = true, .empty = within == Within::empty_list}} {}

    void number(std::string_view key, std::optional<double> value) override;
    void whole(std::string_view key, std::optional<std::size_t> value) override;
    void text(std::string_view key, std::string_view value) override;
    void truth(std::string_view key, bool value) override;
    void null(std::string_view key) override;
    void begin_object(std::string_view key) override { begin(key, '{'); }
    void end_object() override { end('}'); }
    void begin_list(std::string_view key) override { begin(key, '['); }
    void end_list() override { end(']'); }
    // All of it, with a newline at its end; and what is not the end.
    std::string take() { return std::move(out_ += '\n'); }
    std::string take_part() { return std::move(out_); }

private:
    void start(std::string_view key);
    void begin(std::string_view key, char bracket);
    void end(char bracket);
    void new_line();

    struct Level {
        bool list = false;
        bool empty = true;
    };
    Style style_;
    std::string out_;
    std::vector<Level> levels_;
};

}  // namespace coldtank::io
