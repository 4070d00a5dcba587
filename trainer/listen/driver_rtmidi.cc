//go:build cgo && (darwin || windows || (linux && alsa))

#include <iostream>

// footfall_quiet_rtmidi keeps RtMidi's remarks off the screen: it makes them each
// time that no port is plugged in, and only through the stream of errors of C++,
// which nothing else in the program uses.
extern "C" void footfall_quiet_rtmidi(void) { std::cerr.setstate(std::ios_base::failbit); }
