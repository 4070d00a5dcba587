package screen

import (
	"fmt"

	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
)

// Services are what pages are made of.
type Services struct {
	Theme *theme.Theme
	// Guard runs goroutines whose panics end the program in good order.
	Guard *Guard
}

// makers is the table of pages: which kind of ID is made by what. A new page is
// a row here.
var makers = map[string]func(*Services, page.ID) (page.Page, error){}

// Home is the first screen.
var Home = page.ID{Kind: "home"}

func (s *Services) page(id page.ID) (page.Page, error) {
	m, ok := makers[id.Kind]
	if !ok {
		return nil, fmt.Errorf("there is no page %q", id.Kind)
	}
	return m(s, id)
}
