//go:build cgo && (darwin || windows || (linux && alsa))

package listen

// void footfall_quiet_rtmidi(void);
import "C"

// RtMidi registers itself with gomidi's drivers. On Linux it needs the system's
// ALSA headers, so that it is built there only with the tag alsa; the raw
// device files serve else.
import _ "gitlab.com/gomidi/midi/v2/drivers/rtmididrv"

func init() { C.footfall_quiet_rtmidi() }
