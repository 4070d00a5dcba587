#!/usr/bin/python3
"""Writes one performance of four-bars.tune, at 120 a minute, in several ways.

Source of the files beside this one: mido 1.2.10 (MIT), Debian's python3-mido.
Run it here to make them anew:  python3 generate.py
"""
from mido import Message, MetaMessage, MidiFile, MidiTrack

# The line, worked out by hand from the directions of the bass row.
LINE = [48, 52, 55, 57, 45, 48, 52, 55, 50, 53, 57, 53, 43, 47, 50, 53]

notes = []  # (seconds, MIDI note)
for i, midi in enumerate(LINE):
    at = 0.5 * i + 0.010  # each note 10 ms late, but
    if i == 2:
        continue  # one is left out,
    if i == 5:
        midi += 12  # one is an octave high,
    if i == 9:
        midi += 1  # one is a semitone high,
    if i == 12:
        at += 0.070  # one is 80 ms late,
    notes.append((at, midi))
notes.append((1.25, 70))  # and one is too many
notes.sort()


def write(name, kind, division, tempi, ticks_a_second=None, split=False):
    """tempi: (seconds from the start, quarter notes a minute), the first at 0."""

    def tick(seconds):
        if ticks_a_second:
            return round(seconds * ticks_a_second)
        ticks = 0.0
        for k, (start, bpm) in enumerate(tempi):
            end = tempi[k + 1][0] if k + 1 < len(tempi) else float("inf")
            if seconds > start:
                ticks += (min(seconds, end) - start) * bpm / 60 * division
        return round(ticks)

    events = [[], [], []]  # tempo, low notes, high notes: (tick, order, message)
    if not ticks_a_second:
        for start, bpm in tempi:
            events[0].append((tick(start), 0, MetaMessage("set_tempo", tempo=round(60e6 / bpm))))
    for at, midi in notes:
        track = 2 if split and midi > 50 else 1
        channel = 4 if track == 2 else 0
        events[track].append((tick(at), 2, Message("note_on", channel=channel, note=midi, velocity=90)))
        events[track].append((tick(at + 0.4), 1, Message("note_on", channel=channel, note=midi, velocity=0)))
    if kind == 0:
        events = [sum(events, [])]
    f = MidiFile(type=kind, ticks_per_beat=division)
    for track in events:
        t, last = MidiTrack(), 0
        for at, _, message in sorted(track, key=lambda e: e[:2]):
            t.append(message.copy(time=at - last))
            last = at
        f.tracks.append(t)
    f.save(name + ".mid")


write("format0", 0, 480, [(0, 120)])
write("format0-three-tempi", 0, 960, [(0, 120), (1.75, 61), (4.3, 233)])
write("format1", 1, 960, [(0, 120)])
write("format1-split", 1, 960, [(0, 97)], split=True)
write("format1-three-tempi", 1, 1920, [(0, 40), (0.9, 150), (6.1, 120)], split=True)
write("format0-frames", 0, -(25 << 8) + 40, [], ticks_a_second=1000)  # 25 frames a second of 40 ticks
