#!/usr/bin/python3
"""Writes MIDI files and what mido itself reads back from them.

Source of the files beside this one: mido 1.2.10 (MIT), Debian's python3-mido.
Run it here to make them anew:  python3 generate.py
"""
import json
import mido
from mido import Message, MetaMessage, MidiFile, MidiTrack, bpm2tempo


def note(track, channel, number, gap, length, velocity=80, off="note_off"):
    track.append(Message("note_on", channel=channel, note=number, velocity=velocity, time=gap))
    if off == "note_off":
        track.append(Message("note_off", channel=channel, note=number, velocity=0, time=length))
    else:
        track.append(Message("note_on", channel=channel, note=number, velocity=0, time=length))


def line(track, ppq, off="note_off", channel=0):
    for i, number in enumerate([40, 43, 45, 47, 48, 47, 45, 43] * 4):
        note(track, channel, number, 0 if i == 0 else ppq // 10, ppq - ppq // 10, off=off)


def save(name, f):
    f.save(name + ".mid")
    heard, at = [], 0.0
    for m in MidiFile(name + ".mid"):
        at += m.time
        if m.type in ("note_on", "note_off"):
            on = m.type == "note_on" and m.velocity > 0
            heard.append({"at": at, "on": on, "midi": m.note, "channel": m.channel + 1})
    with open(name + ".json", "w") as out:
        json.dump(heard, out, separators=(",", ":"))
        out.write("\n")


f = MidiFile(type=0, ticks_per_beat=480)
t = MidiTrack()
f.tracks.append(t)
line(t, 480)
save("format0-no-tempo", f)

f = MidiFile(type=0, ticks_per_beat=96)
t = MidiTrack()
f.tracks.append(t)
t.append(MetaMessage("set_tempo", tempo=bpm2tempo(173), time=0))
t.append(Message("sysex", data=(0x7E, 1, 2, 3), time=0))
line(t, 96, off="zero velocity")
t.append(MetaMessage("set_tempo", tempo=bpm2tempo(61), time=0))
line(t, 96, channel=5)
save("format0-two-tempi", f)

f = MidiFile(type=1, ticks_per_beat=960)
tempi, low, high = MidiTrack(), MidiTrack(), MidiTrack()
f.tracks.extend([tempi, low, high])
tempi.append(MetaMessage("track_name", name="tempo", time=0))
tempi.append(MetaMessage("time_signature", numerator=4, denominator=4, time=0))
for i, bpm in enumerate([104, 52, 208, 99.7]):
    tempi.append(MetaMessage("set_tempo", tempo=bpm2tempo(bpm), time=0 if i == 0 else 4000))
line(low, 960, channel=0)
line(high, 960, channel=3)
save("format1-four-tempi", f)

f = MidiFile(type=1, ticks_per_beat=24)
first, second = MidiTrack(), MidiTrack()
f.tracks.extend([first, second])
line(first, 24)
second.append(MetaMessage("set_tempo", tempo=bpm2tempo(240), time=100))  # on the last track
save("format1-late-tempo", f)
