package page

import "fmt"

// A File is one of the files that the desk's page is made of.
type File struct {
	Type string // media type
	Data []byte
}

// deskFiles are those files by name, read once: they are part of the program.
var deskFiles = readDeskFiles()

func readDeskFiles() map[string]File {
	list := map[string]File{}
	for name, kind := range map[string]string{
		"desk.html": "text/html; charset=utf-8", "start.html": "text/html; charset=utf-8",
		"desk.css": "text/css; charset=utf-8", "start.js": "text/javascript; charset=utf-8",
	} {
		data, err := files.ReadFile("begin/" + name)
		if err != nil {
			panic(fmt.Sprint("page: ", err)) // embedded
		}
		list[name] = File{kind, data}
	}
	style, err := files.ReadFile("page.css")
	if err != nil {
		panic(fmt.Sprint("page: ", err)) // embedded
	}
	list["page.css"] = File{"text/css; charset=utf-8", style}
	script, err := scriptWith("desk.js")
	if err != nil {
		panic(err) // embedded
	}
	list["desk.js"] = File{"text/javascript; charset=utf-8", []byte(script)}
	return list
}

// DeskFile returns a file of the desk's page: desk.html, the start page start.html, their
// style sheets and scripts. Nothing is inline, so that the server's policy can forbid it.
// The bytes are shared and not to be changed.
func DeskFile(name string) (File, bool) {
	f, ok := deskFiles[name]
	return f, ok
}
