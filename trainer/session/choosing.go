package session

import (
	"fmt"

	"footfall/drills/ramp"
	"footfall/drills/take"
	"footfall/trainer/sound"
)

// SetRamp plays by another tempo plan from the next pass on, with the fingers of its
// fastest.
func (s *PlayAlong) SetRamp(r ramp.Ramp) error {
	before := s.fastest()
	if err := s.ramp(r); err != nil {
		return err
	}
	if s.Free() || s.fastest() == before {
		return nil
	}
	now := s.Arrangement()
	return s.arrange(now.Layer, now.School)
}

func (s *PlayAlong) ramp(r ramp.Ramp) error {
	r, err := ramp.Parse(r.String())
	if err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.progress, s.fresh = r.Start(), true
	s.planned = s.progress
	now := s.player.Now()
	s.planAt = now.At.Duration()
	s.tell(s.player.SetCourse(s.course()))
	s.tell(s.player.SetPassTempo(s.planned.Tempo))
	switch now.State {
	case sound.Playing:
	case sound.Counting: // by the tempo that was: it is counted in anew
		clear(s.marks)
		s.tell(s.player.Stop())
		s.tell(s.player.Play())
	default:
		s.tell(s.player.SetTempo(s.planned.Tempo))
	}
	return nil
}

// Part is bars of the form that have a name.
type Part struct {
	// Name is a section's.
	Name string
	Bars take.Bars
}

// Parts are the sections that are played, each where the form has it first.
func (s *PlayAlong) Parts() []Part {
	var parts []Part
	for _, section := range s.passage.Tune.Tune.Sections {
		if bars, err := sectionBars(s.passage.Tune.Tune, section.Name); err == nil {
			parts = append(parts, Part{section.Name, bars})
		}
	}
	return parts
}

// sectionOf is how the history calls the bars of a pass: a section by its name, the
// whole form by none, other bars by their numbers, such as 5-6.
func (s *PlayAlong) sectionOf(bars take.Bars) string {
	t := s.passage.Tune.Tune
	if asked, err := sectionBars(t, s.passage.Section); err == nil && asked == bars {
		return s.passage.Section
	}
	if whole, err := sectionBars(t, ""); err == nil && whole == bars {
		return ""
	}
	for _, p := range s.Parts() {
		if p.Bars == bars {
			return p.Name
		}
	}
	return fmt.Sprintf("%d-%d", bars.First, bars.Last)
}
