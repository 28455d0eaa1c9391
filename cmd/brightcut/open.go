package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"

	"brightcut/web"
)

type openCommand struct {
	Folder    string `arg:"" optional:"" help:"Folder of the workshop; without it a copy of the example workshop that is yours to change."`
	Port      int    `default:"0" placeholder:"N" help:"Port on this machine; 0 takes any that is free (${default})."`
	Share     bool   `help:"Share the workshop with the tablets of your own network: each is paired once, by a code on the page."`
	SharePort int    `default:"8643" placeholder:"N" help:"Port on the network for --share; the same each time, or tablets must be paired anew (${default})."`
	NoBrowser bool   `help:"Print the address and leave the browser to you."`
}

func (openCommand) Help() string {
	return `The page runs in your browser and is served by this program, to this machine
alone; nothing goes out. Your files stay plain files: change them here or in a
text editor, even at once. Ctrl-C ends it. Examples:

  brightcut open
  brightcut open ~/lantern-yard
  brightcut open ~/lantern-yard --port 8600 --no-browser
  brightcut open ~/lantern-yard --share

With --share paired devices of your own network may count and change jobs too, by
an address that is printed; docs/sharing.md tells how.`
}

func (c openCommand) Run(b console) error {
	if c.Port < 0 || c.Port > 65535 {
		return usage("--port %d: a port is a number from 0 to 65535", c.Port)
	}
	if c.SharePort < 0 || c.SharePort > 65535 {
		return usage("--share-port %d: a port is a number from 0 to 65535", c.SharePort)
	}
	folder := c.Folder
	if folder == "" {
		var err error
		if folder, err = ownWorkshop(b); err != nil {
			return err
		}
	}
	if info, err := os.Stat(folder); err == nil && !info.IsDir() {
		return usage("%s is a file; name the folder that it stands in", folder)
	}
	server, err := web.New(folder, web.Options{Version: programVersion()})
	if err != nil {
		return err
	}
	defer server.Close()
	listener, err := web.Listen(c.Port)
	if err != nil {
		return err
	}
	address := "http://" + listener.Addr().String() + "/"
	fmt.Fprintf(b.out, "The workshop in %s is open at\n\n  %s\n\nKeep this window; Ctrl-C ends it.\n", server.Folder(), address)
	if c.Share {
		ended, err := share(b, server, c.SharePort)
		if err != nil {
			listener.Close()
			return err
		}
		defer ended()
	}
	if !c.NoBrowser {
		if err := browse(address); err != nil {
			fmt.Fprintf(b.err, "brightcut: no browser could be started (%v); open the address yourself.\n", err)
		}
	}
	return server.Serve(b, listener)
}

// share opens the workshop to its network. What it returns waits until that has
// ended.
func share(b console, server *web.Server, port int) (ended func(), err error) {
	listener, err := server.Share(port)
	if err != nil {
		return nil, err
	}
	addresses, fingerprint := server.Shared()
	if len(addresses) == 0 {
		fmt.Fprint(b.out, "\nThe workshop is shared, but this machine has no address in a private network yet: look whether it is connected.\n")
	} else {
		fmt.Fprint(b.out, "\nPaired devices find it at\n\n")
		for _, a := range addresses {
			fmt.Fprintf(b.out, "  %s\n", a)
		}
	}
	fmt.Fprintf(b.out, "\nFingerprint of the workshop's certificate, to compare before a device trusts it:\n\n  %s\n  %s\n", fingerprint[:48], fingerprint[48:])
	ctx, cancel := context.WithCancel(b)
	done := make(chan struct{})
	go func() {
		defer close(done)
		if err := server.ServeShared(ctx, listener); err != nil {
			fmt.Fprintf(b.err, "brightcut: the workshop is no longer shared: %v\n", err)
		}
	}()
	return func() { cancel(); <-done }, nil
}

// ownWorkshop is a copy of the example workshop that is kept between runs. It is
// made once; what is changed or thrown away in it stays so.
func ownWorkshop(b console) (string, error) {
	base, err := os.UserConfigDir()
	if err != nil {
		return "", fmt.Errorf("find a place for a workshop of your own: %w; name a folder", err)
	}
	dir := filepath.Join(base, "brightcut", "workshop")
	if _, err := os.Stat(dir); !errors.Is(err, fs.ErrNotExist) {
		return dir, nil
	}
	fresh := dir + ".new" // a copy that was broken off is made again
	if err := os.RemoveAll(fresh); err != nil {
		return "", fmt.Errorf("make a workshop of your own: %w", err)
	}
	if err := writeWorkshop(b, fresh); err != nil {
		return "", fmt.Errorf("make a workshop of your own: %w", err)
	}
	if err := os.Rename(fresh, dir); err != nil {
		return "", fmt.Errorf("make a workshop of your own: %w", err)
	}
	fmt.Fprintf(b.out, "A copy of the example workshop was made for you.\n")
	return dir, nil
}

// browse opens an address in the user's browser.
func browse(address string) error {
	name, args := "xdg-open", []string{address}
	switch runtime.GOOS {
	case "darwin":
		name = "open"
	case "windows":
		name, args = "rundll32", []string{"url.dll,FileProtocolHandler", address}
	}
	cmd := exec.Command(name, args...)
	if err := cmd.Start(); err != nil {
		return err
	}
	go cmd.Wait() // so that it does not stay behind as a zombie
	return nil
}
