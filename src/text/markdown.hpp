// A user's words in Markdown.
#pragma once

#include <string>
#include <string_view>

namespace coldtank::io {

// A user's text in Markdown: its marks escaped, in plain text still readable.
std::string markdown_text(std::string_view text);

}  // namespace coldtank::io
