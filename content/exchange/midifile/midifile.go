// Package midifile reads the bass track of a Standard MIDI File (SMF 1.0) into
// the bass row of a tune whose chords are known.
//
// It works on bytes that it is handed, never files.
package midifile

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"

	"footfall/content/exchange/transcribe"
	"footfall/harmony/tune"
)

// Read reads the bass track of a MIDI file against the chords of a tune, bar 1
// beat 1 of the pass being the file's beginning, and returns that tune with the
// track as its bass row, on the range low to high (MIDI note numbers). The bass
// is the track with "bass" in its name, else one on a bass program of General
// MIDI, else the lowest notes of the guitar, all its strings together, or of the
// lowest track. Notes are put on the nearest half beat.
// The losses list what the tune does not hold. A file that is no MIDI file, or
// has no bass, is an error.
func Read(data []byte, chords *tune.Tune, low, high int) (*tune.Tune, []transcribe.Loss, error) {
	quarter, err := ticksOf(data)
	if err != nil {
		return nil, nil, err
	}
	r := reader{chords: chords, quarter: quarter}
	if err := r.collect(data); err != nil {
		return nil, nil, err
	}
	bass, err := r.choose()
	if err != nil {
		return nil, nil, err
	}
	s := r.score(bass)
	t, losses := s.Tune(low, high)
	t.Swing = chords.Swing
	t.Comments = slices.DeleteFunc(slices.Clone(chords.Comments), func(c tune.Comment) bool { return c.Section != "" && t.Section(c.Section) == nil })
	return t, append(r.losses, losses...), nil
}

// ticksOf returns how many ticks a quarter note has, and says what is wrong with a file
// that counts otherwise.
func ticksOf(data []byte) (float64, error) {
	if err := walkTracks(data, func(int, int64, smf.Message) {}); err != nil {
		return 0, err
	}
	// MThd, its length, format, number of tracks, division: SMF 1.0.
	if data[8] == 0 && data[9] == 2 {
		return 0, errors.New("a MIDI file of format 2 holds separate pieces: save the one you want as format 0 or 1")
	}
	if data[12] >= 0x80 {
		return 0, errors.New("the MIDI file counts in frames, not in beats: save it with ticks to a quarter note")
	}
	ticks := int(data[12])<<8 | int(data[13])
	if ticks == 0 {
		return 0, errors.New("the MIDI file is damaged: it has 0 ticks to a quarter note")
	}
	return float64(ticks), nil
}

// note is a note of the file, in quarter notes from its beginning.
type note struct {
	at, length float64
	midi       int
	// upper is set where it is on a string that carries no bass.
	upper bool
}

// stream is the notes of one channel of one track.
type stream struct {
	name    string
	channel uint8
	program int
	notes   []note
	// isString is set where it is taken for one string of a guitar.
	isString bool
}

func (s *stream) mean() float64 { return mean(s.notes) }

func mean(notes []note) float64 {
	sum := 0
	for _, n := range notes {
		sum += n.midi
	}
	return float64(sum) / float64(len(notes))
}

type reader struct {
	chords  *tune.Tune
	quarter float64
	streams []*stream
	losses  []transcribe.Loss
	// meters are those of the tune; metered is the last track, from 1, that was told to
	// have another.
	meters  map[tune.Meter]bool
	metered int
}

func (r *reader) lose(format string, args ...any) {
	r.losses = append(r.losses, transcribe.Loss{What: fmt.Sprintf(format, args...)})
}

// collect gathers the notes of each channel of each track, and tells of what is no note.
func (r *reader) collect(data []byte) error {
	other := map[string]int{}
	var c *collector
	err := Events(data, func(track int, at int64, m smf.Message) {
		if c == nil || c.track != track {
			r.collected(c)
			c = &collector{track: track, name: fmt.Sprint(track + 1), quarter: r.quarter, of: map[uint8]*stream{}, open: map[[2]uint8]int{}}
		}
		c.now = at
		if kind := c.event(m); kind != "" {
			other[kind]++
		}
		r.meter(track, m)
	})
	if err != nil {
		return err
	}
	r.collected(c)
	var kinds []string
	for kind, n := range other {
		kinds = append(kinds, fmt.Sprintf("%d × %s left out", n, kind))
	}
	slices.Sort(kinds)
	for _, k := range kinds {
		r.lose("%s", k)
	}
	return nil
}

// collected takes over what was gathered of a track.
func (r *reader) collected(c *collector) {
	if c == nil {
		return
	}
	for channel := range uint8(16) {
		if s := c.of[channel]; s != nil && len(s.notes) > 0 {
			s.name = c.name
			slices.SortStableFunc(s.notes, func(a, b note) int {
				return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.midi, b.midi))
			})
			r.streams = append(r.streams, s)
		}
	}
}

// meter tells of a time signature that is not the tune's, once a track.
func (r *reader) meter(track int, message smf.Message) {
	var upper, lower uint8
	if r.metered == track+1 || !message.GetMetaMeter(&upper, &lower) {
		return
	}
	if r.meters == nil {
		r.meters = map[tune.Meter]bool{}
		for _, fb := range r.chords.Unroll() {
			r.meters[fb.Meter] = true
		}
	}
	if r.meters[tune.Meter{Upper: int(upper), Lower: int(lower)}] {
		return
	}
	r.lose("the file is in %d/%d; the bars of %s are those of its tune, %s", upper, lower, r.chords.Title, r.chords.Meter)
	r.metered = track + 1
}

// collector gathers one track.
type collector struct {
	track   int // from 0
	name    string
	quarter float64
	now     int64
	of      map[uint8]*stream
	program [16]int
	// open holds the index of each sounding note by channel and key.
	open map[[2]uint8]int
}

// event takes one event; it names those that are not held.
func (c *collector) event(m smf.Message) string {
	var channel, key, value uint8
	var text string
	switch msg := midi.Message(m); {
	case msg.GetNoteStart(&channel, &key, &value):
		s := c.of[channel]
		if s == nil {
			s = &stream{channel: channel, program: c.program[channel]}
			c.of[channel] = s
		}
		c.open[[2]uint8{channel, key}] = len(s.notes)
		s.notes = append(s.notes, note{at: float64(c.now) / c.quarter, midi: int(key)})
	case msg.GetNoteEnd(&channel, &key):
		if i, ok := c.open[[2]uint8{channel, key}]; ok {
			n := &c.of[channel].notes[i]
			n.length = float64(c.now)/c.quarter - n.at
			delete(c.open, [2]uint8{channel, key})
		}
	case msg.GetProgramChange(&channel, &value):
		c.program[channel] = int(value)
		if s := c.of[channel]; s != nil && len(s.notes) == 0 {
			s.program = int(value)
		}
	case m.GetMetaTrackName(&text):
		if text = strings.TrimSpace(text); text != "" {
			c.name = text
		}
	case msg.Is(midi.PitchBendMsg):
		return "pitch bend"
	case msg.Is(midi.ControlChangeMsg):
		return "controller"
	case m.GetMetaLyric(&text):
		return "lyric"
	case m.GetMetaMarker(&text), m.GetMetaText(&text), m.GetMetaCuepoint(&text):
		return "text"
	}
	return ""
}

// drums is the channel of percussion in General MIDI, counted from 0; the bass
// programs are 33 to 40, counted from 1 (General MIDI System Level 1).
const drums = 9

func (s *stream) bassProgram() bool { return s.program >= 32 && s.program <= 39 }

// guitar reports whether a stream is one of a guitar, or of one of its strings: by its
// name, or by a guitar's program, 25 to 32 counted from 1 (General MIDI System Level 1).
func (s *stream) guitar() bool {
	name := strings.ToLower(s.name)
	return s.isString || s.program >= 24 && s.program <= 31 || strings.Contains(name, "guitar") || strings.HasPrefix(name, "string ")
}

// choose picks the bass, and tells of the tracks that are left out: the track that is
// one by its name or its program, else the lowest notes of the guitar, all strings
// together, else those of the lowest track.
func (r *reader) choose() ([]note, error) {
	rank := func(s *stream) int {
		switch {
		case s.channel == drums:
			return 0
		case strings.Contains(strings.ToLower(s.name), "bass"):
			return 4
		case s.bassProgram():
			return 3
		case s.guitar():
			return 2
		case mean(lowest(s.notes)) <= highestMeanBass:
			return 1
		}
		return 0
	}
	r.markStrings()
	var bass *stream
	for _, s := range r.streams {
		if rank(s) > 0 && (bass == nil || rank(s) > rank(bass) || rank(s) == rank(bass) && s.mean() < bass.mean()) {
			bass = s
		}
	}
	if bass == nil {
		return nil, errors.New(`the MIDI file has no bass: no track is called "bass", plays a bass or a guitar, or lies low`)
	}
	voices := slices.DeleteFunc(slices.Clone(r.streams), func(s *stream) bool { return rank(s) != 2 })
	if rank(bass) == 2 && len(voices) >= 4 { // a track or channel a string: the bass is on the two lowest
		slices.SortStableFunc(voices, func(a, b *stream) int { return cmp.Compare(a.mean(), b.mean()) })
		for _, s := range voices[2:] {
			for i := range s.notes {
				s.notes[i].upper = true
			}
		}
	}
	var notes []note
	for _, s := range r.streams {
		if s == bass || rank(bass) == 2 && rank(s) == 2 {
			notes = append(notes, s.notes...)
			continue
		}
		r.lose("track %s, channel %d: %d notes left out; a tune holds one line, the bass", s.name, s.channel+1, len(s.notes))
	}
	slices.SortStableFunc(notes, func(a, b note) int { return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.midi, b.midi)) })
	if rank(bass) > 2 {
		return notes, nil
	}
	low := lowest(notes)
	if above := len(notes) - len(low); above > 0 {
		r.lose("%d notes above the lowest are left out; a tune holds one line, the bass", above)
	}
	return low, nil
}

// markStrings finds the strings of a guitar that is written a track or a channel a
// string and not called so: four to eight voices of one program, the two lowest of which
// seldom sound together, as voices of a choir or of bowed strings do. A choice of the
// program.
func (r *reader) markStrings() {
	programs := map[int][]*stream{}
	for _, s := range r.streams {
		if s.channel != drums && !s.bassProgram() && !strings.Contains(strings.ToLower(s.name), "bass") && alone(s.notes) {
			programs[s.program] = append(programs[s.program], s)
		}
	}
	for _, voices := range programs {
		if len(voices) < 4 || len(voices) > 8 {
			continue
		}
		slices.SortStableFunc(voices, func(a, b *stream) int { return cmp.Compare(a.mean(), b.mean()) })
		low, next := voices[0].notes, voices[1].notes
		if overlapping(low, next)*5 < min(len(low), len(next)) {
			for _, s := range voices {
				s.isString = true
			}
		}
	}
}

// alone reports whether no two notes of a voice sound together.
func alone(voice []note) bool {
	for i, v := range voice {
		for _, o := range voice[i+1:] {
			if o.at >= v.at+v.length-together {
				break
			}
			if o.at+o.length > v.at+together {
				return false
			}
		}
	}
	return true
}

// overlapping counts the notes of a voice during which one of another sounds.
func overlapping(voice, other []note) (n int) {
	latest := make([]float64, len(other)) // end of those up to each
	for i, o := range other {
		latest[i] = o.end()
		if i > 0 {
			latest[i] = max(latest[i], latest[i-1])
		}
	}
	for _, v := range voice {
		k := sort.Search(len(other), func(k int) bool { return other[k].at >= v.at+v.length-together })
		if k > 0 && latest[k-1] > v.at+together {
			n++
		}
	}
	return n
}

// end is when a note ends that sounds over others.
func (n note) end() float64 { return n.at + min(n.length, longestNote+together) }

// highestMeanBass is where the mean of a track's lowest notes may lie at most for it
// to be taken for a bass: G3. Common practice, no source.
const highestMeanBass = 55

// together is how far apart notes that sound as one may begin, in quarter notes: a
// slow strum. A choice of the program.
const together = 0.12

// lowest returns the notes below which none sounds when they begin.
func lowest(notes []note) []note {
	var out []note
	var ends [128]float64 // of the notes of each pitch that have begun, the latest
	begun := 0
	for _, n := range notes {
		for ; begun < len(notes) && notes[begun].at <= n.at+together; begun++ {
			m := notes[begun]
			ends[m.midi] = max(ends[m.midi], m.end())
		}
		covered := slices.ContainsFunc(ends[:n.midi], func(end float64) bool { return end > n.at+together })
		if !covered && !n.upper {
			out = append(out, n)
		}
	}
	return out
}

// longestNote is how long a note may sound over others, in quarter notes.
const longestNote = 32

// score puts the notes under the chords of the tune's pass.
func (r *reader) score(bass []note) *transcribe.Score {
	t := r.chords
	key := t.Key
	s := &transcribe.Score{Title: t.Title, Key: &key, Meter: t.Meter, Tempo: t.Tempo, Swing: t.Swing.Ratio, Trains: t.Trains}
	for _, fb := range t.Unroll() {
		b := transcribe.Bar{Starts: fb.SectionBar == 1, Section: fb.Section, Meter: fb.Meter, Comping: fb.Comping, Hits: fb.Bar.Hits, Shapes: fb.Bar.Shapes, Words: fb.Bar.Words}
		b.Chords = transcribe.ChordsOf(fb, fb.Meter)
		s.Bars = append(s.Bars, b)
	}
	notes := r.onGrid(bass)
	late := 0
	grid := t.Grid()
	for _, n := range notes {
		half := int(2 * n.At)
		if half >= grid.Total() {
			late++
			continue
		}
		bar := grid.At(half).Bar - 1
		n.At -= float64(grid.Start(bar+1)) / 2
		s.Bars[bar].Notes = append(s.Bars[bar].Notes, n)
	}
	if late > 0 {
		r.lose("%d notes behind the last bar of the tune's pass are left out", late)
	}
	return s
}

// swungFrom and swungTo bound the part of a beat in which a note is taken for
// its second half, wherever the swing puts it. A choice of the program.
const (
	swungFrom = 0.25
	swungTo   = 0.84
)

// shortRest is the longest silence, in beats, that is taken for the way a note is
// played and not for a rest, and shortGap the longest before a note on an offbeat.
// A choice of the program.
const (
	shortRest = 0.6
	shortGap  = shortRest / 2
)

// beatsOf returns how many beats of a tune's pass lie before a place in quarter
// notes; behind the last bar they go on as in it.
func beatsOf(t *tune.Tune) func(quarters float64) float64 {
	bars, grid := t.Unroll(), t.Grid()
	starts := make([]float64, len(bars)) // in quarter notes
	for i := 1; i < len(bars); i++ {
		starts[i] = starts[i-1] + bars[i-1].Meter.Quarters()
	}
	return func(quarters float64) float64 {
		bar := max(0, sort.Search(len(bars), func(i int) bool { return starts[i] > quarters })-1)
		return float64(grid.Start(bar+1))/2 + (quarters-starts[bar])/bars[bar].Meter.BeatQuarters()
	}
}

// onGrid puts notes on half beats, each lasting to the end of a beat or to the
// next note.
func (r *reader) onGrid(in []note) []transcribe.Note {
	beats := beatsOf(r.chords)
	var out []transcribe.Note
	off, together, heard := 0, 0, 0.0 // heard is where the note before was let go
	for _, n := range in {
		at := beats(n.at)
		beat := math.Floor(at)
		part := at - beat
		grid := beat
		switch {
		case part >= swungTo:
			grid = beat + 1
		case part >= swungFrom:
			grid = beat + 0.5
		}
		if part > 0.1 && part < 0.45 || part > 0.72 && part < 0.9 {
			off++
		}
		// A note that is let go early still fills its beat, as a walking line is
		// played: only a silence longer than shortRest is a rest.
		let := beats(n.at + n.length)
		end := math.Ceil(let - (1 - shortRest))
		if end <= grid {
			end = math.Floor(grid) + 1
		}
		if k := len(out) - 1; k >= 0 {
			if out[k].At == grid {
				together++
				continue
			}
			if lasts := grid - out[k].At; out[k].Length > lasts || grid-heard <= shortGap {
				out[k].Length = lasts
			}
		}
		heard = let
		out = append(out, transcribe.Note{At: grid, Length: end - grid, MIDI: n.midi})
	}
	if off > 0 {
		r.lose("%d notes stood more than a tenth of a beat off the half beats they are put on", off)
	}
	if together > 0 {
		r.lose("%d notes that came with another on the same half beat are left out", together)
	}
	return out
}
