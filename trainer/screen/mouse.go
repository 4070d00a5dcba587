package screen

import (
	tea "github.com/charmbracelet/bubbletea"

	"footfall/trainer/screen/page"
)

// placed are spots of some lines as they stand in the whole view: so many rows further
// down, and only where there is something to see of them.
func placed(spots []page.Spot, down, rows, width int) []page.Spot {
	var seen []page.Spot
	for _, s := range spots {
		if s.Y < rows && s.First < width {
			s.Y += down
			s.End = min(s.End, width)
			seen = append(seen, s)
		}
	}
	return seen
}

// mouse does what the mouse asks for: a press on a key's name is that key, one on
// something else is for the page, and the wheel moves as up and down do.
func (f *frame) mouse(m tea.MouseMsg) tea.Cmd {
	if m.Action != tea.MouseActionPress || f.ended || f.small() && f.opening == nil {
		return nil
	}
	switch m.Button {
	case tea.MouseButtonWheelUp:
		return f.key(page.Pressed("up"))
	case tea.MouseButtonWheelDown:
		return f.key(page.Pressed("down"))
	case tea.MouseButtonLeft:
	default:
		return nil
	}
	if f.help != noHelp {
		f.help = f.help.after(page.Pressed("?"), f.helpFits(f.top()))
		return nil
	}
	for _, s := range f.spots {
		if m.Y != s.Y || m.X < s.First || m.X >= s.End {
			continue
		}
		if s.On == page.KeyName {
			switch k, ok := page.KeyAt(s.N); {
			case !ok:
			case page.Quit.Is(k): // also where letters are text
				return f.quit()
			case page.Help.Is(k):
				f.help = keysHelp
			default:
				return f.key(k)
			}
			return nil
		}
		if f.opening == nil {
			f.said = ""
			s.X = m.X - s.First
			return f.top().Update(s.Clicked)
		}
	}
	return nil
}
