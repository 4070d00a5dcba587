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
// taken. They stand for ever; where a lesson stands in the order is the number before it
// in the name of its file.
func LessonNames() []string {
	names := lessonEntries()
	for i, name := range names {
		_, names[i], _ = strings.Cut(name, "-")
	}
	return names
}

// lessonEntries are the names of the lessons' files, without the ending, in their order.
func lessonEntries() []string {
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

// LessonText returns the text of a built-in lesson by its name, or by the name with the
// number of its place; false if none has it.
func LessonText(name string) (string, bool) {
	for _, file := range lessonEntries() {
		if _, own, _ := strings.Cut(file, "-"); name == own || name == file {
			text, err := lessonFiles.ReadFile(path.Join("lessons", file+lessonEnding))
			return string(text), err == nil
		}
	}
	return "", false
}
