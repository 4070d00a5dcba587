package content

import (
	"embed"
	"io/fs"
	"path"
	"strings"
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
