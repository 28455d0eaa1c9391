package job

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v4"

	"brightcut/fault"
)

// extension of the files of a workshop.
const extension = ".yaml"

// Jobs returns the paths of the job files in a workshop's folder, sorted.
func Jobs(dir string) ([]string, error) {
	all, err := os.ReadDir(dir)
	if err != nil {
		return nil, fmt.Errorf("list the jobs: %w", err)
	}
	var jobs []string
	for _, e := range all {
		if name := e.Name(); !e.IsDir() && strings.HasSuffix(name, extension) && name[0] != '.' {
			jobs = append(jobs, filepath.Join(dir, name))
		}
	}
	return jobs, nil
}

// shop is the folder that a job stands in, with the parts read from it so far.
type shop struct {
	fsys  fs.FS
	dir   string // within fsys; "." is its root
	shown string // put before the names of parts in messages
	files map[string]*partFile
}

// partFile is the file of a part, parsed.
type partFile struct {
	src    *source
	root   *yaml.Node
	faults fault.List
}

// refused is why a part cannot be had by a name.
type refused struct{ problem, mend string }

// part returns the file of the named part, or why there is none.
func (s *shop) part(kind, name string) (*partFile, *refused) {
	folder := kind + "s"
	if !validName(name) {
		return nil, &refused{fmt.Sprintf("%s is not a name of a part", quoted(name)),
			fmt.Sprintf("name a file in %s/ of this workshop by its name alone, without folder and without %s", folder, extension)}
	}
	file := path.Join(s.dir, folder, name+extension)
	text, bad := readText(s.fsys, file)
	if bad != nil {
		if !bad.missing {
			return nil, &refused{folder + "/" + name + extension + ": " + bad.problem, bad.mend}
		}
		mend := fmt.Sprintf("write it to %s/%s%s, or write its keys here", folder, name, extension)
		if known := s.parts(kind); len(known) > 0 {
			if near := suggest(name, known, folder+"/ holds"); strings.HasPrefix(near, "did") {
				mend = near
			} else {
				mend = near + "; or " + mend
			}
		}
		return nil, &refused{fmt.Sprintf("there is no %s %s", kind, quoted(name)), mend}
	}
	f := &partFile{src: newSource(s.shown+path.Join(folder, name+extension), text)}
	f.root, f.faults = f.src.tree()
	s.files[file] = f
	return f, nil
}

// parts lists the names of the parts of a kind.
func (s *shop) parts(kind string) []string { return s.names(kind+"s", extension) }

// names lists the files of a folder, without their extension.
func (s *shop) names(folder, extension string) []string {
	all, _ := fs.ReadDir(s.fsys, path.Join(s.dir, folder)) // without the folder there are none
	var names []string
	for _, e := range all {
		if name, ok := strings.CutSuffix(e.Name(), extension); ok && !e.IsDir() && validName(name) {
			names = append(names, name)
		}
	}
	return names
}

// digest covers the job's text and that of every part it names.
func (s *shop) digest(text []byte) string {
	h := sha256.New()
	add(h, "", text)
	for _, file := range slices.Sorted(maps.Keys(s.files)) {
		name := strings.TrimPrefix(strings.TrimPrefix(file, s.dir), "/")
		add(h, name, s.files[file].src.text)
	}
	return hex.EncodeToString(h.Sum(nil))
}

// add hashes a file so that no two workshops come to one stream of bytes.
func add(h hash.Hash, name string, text []byte) {
	io.WriteString(h, strconv.Itoa(len(name))+":"+name+strconv.Itoa(len(text))+":")
	h.Write(text)
}

// validName says whether a part can have this name: it stays in its folder, on
// every system.
func validName(name string) bool {
	return name != "" && len(name) <= 80 && name[0] != '.' && name[0] != ' ' && !strings.HasSuffix(name, " ") && !strings.HasSuffix(name, ".") &&
		!strings.ContainsAny(name, `/\:*?"<>|`) && !strings.ContainsFunc(name, func(c rune) bool { return !printable(c) })
}

// unread is why a file cannot be read.
type unread struct {
	missing       bool
	problem, mend string
}

// readText reads a file of the workshop's own kind.
func readText(fsys fs.FS, name string) ([]byte, *unread) {
	return readFile(fsys, name, mostBytes, "draw edges and outlines with fewer points")
}

// readFile reads a file that is one, up to a limit of bytes; smaller says how to
// stay within it.
func readFile(fsys fs.FS, name string, most int64, smaller string) ([]byte, *unread) {
	info, err := fs.Stat(fsys, name) // before opening: a pipe would wait for its writer
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, &unread{true, "there is no such file", "look at the name and the folder"}
	case errors.Is(err, fs.ErrPermission):
		return nil, &unread{false, "the file may not be read", "give yourself the right to read it"}
	case err != nil:
		return nil, &unread{false, "the file cannot be read: " + cause(err), "keep the workshop's files in its own folder"}
	case info.IsDir():
		return nil, &unread{false, "this is a folder, not a file", "name a file in it"}
	case !info.Mode().IsRegular():
		return nil, &unread{false, "this is not a plain file", "name a file"}
	case info.Size() > most:
		return nil, &unread{false, over(info.Size(), most), smaller}
	}
	f, err := fsys.Open(name)
	if errors.Is(err, fs.ErrPermission) {
		return nil, &unread{false, "the file may not be read", "give yourself the right to read it"}
	}
	if err != nil {
		return nil, &unread{false, "the file cannot be opened: " + cause(err), "look at the name and the folder"}
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, most+1)) // it may grow while it is read
	if err != nil {
		return nil, &unread{false, "the file cannot be read: " + cause(err), "try again, or copy it from where it came"}
	}
	if int64(len(text)) > most {
		return nil, &unread{false, over(int64(len(text)), most), smaller}
	}
	return text, nil
}

// tooLarge says that a file of the workshop's own kind is.
func tooLarge(n int64) string { return over(n, mostBytes) }

func over(n, most int64) string {
	return fmt.Sprintf("the file has %d bytes, more than the %d allowed", n, most)
}

// cause leaves the path out, which stands before the message already.
func cause(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	return err.Error()
}
