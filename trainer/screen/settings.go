package screen

import (
	"errors"

	tea "github.com/charmbracelet/bubbletea"

	"footfall/trainer/screen/page"
	"footfall/trainer/screen/preferences"
	"footfall/trainer/screen/welcome"
	"footfall/trainer/settings"
)

// Settings are the player's.
type Settings struct {
	// Now are those that hold, Path is their file.
	Now  settings.Settings
	Path string
	// Hold makes services in which others hold; nil has them wait for the next start.
	Hold func(settings.Settings) (*Services, error)
}

// Welcome is the page of the first start, Preferences that of the settings.
var (
	Welcome     = page.ID{Kind: "welcome"}
	Preferences = page.ID{Kind: "settings"}
)

// held are the services in which other settings hold, nil for those there are; err says
// what went wrong on the way.
type held struct {
	services *Services
	err      error
}

// hold lets settings hold.
func (s *Services) hold(set settings.Settings) tea.Msg {
	if s.Settings.Hold == nil {
		return held{}
	}
	services, err := s.Settings.Hold(set)
	return held{services, err}
}

func (s *Services) preferences() page.Page {
	s.setting.Lock()
	now := s.Settings.Now
	s.setting.Unlock()
	return preferences.New(preferences.Room{Theme: s.Theme, Now: now, Path: s.Settings.Path, Hold: s.hold})
}

// sounds turns the soft sound of right and wrong off or on, here and in the settings.
func (s *Services) sounds() (on bool, keep tea.Cmd) {
	on = !s.Desk.Hearing.Cued()
	s.Desk.Hearing.Cue(on)
	s.setting.Lock()
	defer s.setting.Unlock()
	now, path := s.Settings.Now, s.Settings.Path
	s.Settings.Now.Sound.Verdicts = on
	return on, func() tea.Msg {
		if err := settings.Change(path, now, map[string]any{"sound.verdicts": on}); err != nil {
			return page.Say{Line: "This holds until you quit: " + err.Error()}
		}
		return nil
	}
}

// welcome is the page of the first start: its answers stand in the settings file from
// then on, whatever they are, so that it never comes again.
func (s *Services) welcome() page.Page {
	return welcome.New(welcome.Room{Theme: s.Theme, Ports: s.Inputs.Present, Done: func(values map[string]any, port string) tea.Msg {
		now := s.Settings.Now
		err := settings.Change(s.Settings.Path, now, values)
		for _, key := range settings.Keys() {
			if v, ok := values[key]; ok {
				with, fault := now.With(key, v)
				now, err = with, errors.Join(err, fault)
			}
		}
		if port != "" {
			err = errors.Join(err, s.Inputs.Pick(port))
		}
		h, _ := s.hold(now).(held)
		h.err = errors.Join(h.err, err)
		return h
	}})
}

// reopen begins anew with other services, at the first screen.
func (f *frame) reopen(h held) tea.Cmd {
	if f.ended {
		return nil
	}
	if h.services == nil {
		h.services = f.services
	}
	home, err := h.services.page(Home)
	if err = errors.Join(h.err, err); err != nil {
		f.said = err.Error()
	}
	if home == nil {
		return nil
	}
	if f.opening != nil {
		f.opening.giveUp()
		f.opening = nil
	}
	var cmds []tea.Cmd
	for _, p := range f.pages {
		if _, left := p.(*preferences.Page); !left {
			cmds = append(cmds, leave(p))
		}
	}
	f.services, f.theme = h.services, h.services.Theme
	f.pages, f.stack, f.help = map[page.ID]page.Page{Home: home}, []page.ID{Home}, noHelp
	f.size(home)
	return tea.Sequence(append(cmds, home.Init())...)
}
