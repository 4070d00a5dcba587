package content

import (
	"embed"
	"fmt"
	"io/fs"
	"path"
	"strings"

	"footfall/drills/lesson"
)

//go:embed lessons/*.lesson
var lessonFiles embed.FS

const lessonEnding = ".lesson"

// LessonNames returns the names of the built-in lessons in the order they are
// taken.
func LessonNames() []string {
	entries, err := fs.ReadDir(lessonFiles, "lessons")
	if err != nil {
		panic(err) // the folder is part of the program
	}
	names := make([]string, len(entries))
	for i, e := range entries { // in the order of their names
		names[i] = strings.TrimSuffix(e.Name(), lessonEnding)
	}
	return names
}

// LessonText returns the text of a built-in lesson; false if none has the name.
func LessonText(name string) (string, bool) {
	text, err := lessonFiles.ReadFile(path.Join("lessons", name+lessonEnding))
	return string(text), err == nil
}

// Lesson returns a built-in lesson, a new value each time; false if none has
// the name.
func Lesson(name string) (*lesson.Lesson, bool) {
	text, ok := LessonText(name)
	if !ok {
		return nil, false
	}
	l, faults := lesson.Read(text, Tune)
	if len(faults) > 0 {
		panic(fmt.Sprintf("built-in lesson %s: %v", name, faults)) // a test reads them all
	}
	return l, true
}
