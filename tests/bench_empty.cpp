// What a start costs at least: linked as the program is, it writes one line.
#include <cstdio>

int main() { return std::puts("pass") < 0 ? 1 : 0; }
