package web

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"os"
	"strings"
	"sync"
	"time"
	"unicode"
	"unicode/utf8"
)

// atHome is the name of the workshop's own computer in the log.
const atHome = "workshop computer"

const (
	mostDeviceName = 40 // letters
	mostDevices    = 200
	mostDevicesLog = 1 << 20         // bytes of their file
	seenEvery      = 5 * time.Minute // between two writings of when a device was seen
)

// device is a tablet that was paired. What it counts stands in the log under the
// name that it had when it was paired; it is shown under the one that it has now.
type device struct {
	ID      string    `json:"id"`
	Sign    string    `json:"sign"` // its name in the log
	Name    string    `json:"name"`
	Hash    string    `json:"hash,omitempty"` // SHA-256 of its token, hex; none once it is revoked
	Paired  time.Time `json:"paired"`
	Seen    time.Time `json:"seen"`
	Revoked time.Time `json:"revoked,omitzero"`

	ctx    context.Context // ends when it is revoked
	revoke context.CancelFunc
}

// devices are those that were ever paired with the workshop.
type devices struct {
	mu  sync.Mutex
	all []*device
}

// read takes the devices from their file.
func (d *devices) read(root *os.Root) error {
	info, err := root.Stat(devicesFile)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err == nil && info.Size() > mostDevicesLog {
		err = fmt.Errorf("it has more than %d bytes", mostDevicesLog)
	}
	var text []byte
	if err == nil {
		text, err = root.ReadFile(devicesFile)
	}
	var all []*device
	if err == nil && len(text) > 0 {
		err = json.Unmarshal(text, &all)
	}
	if err != nil {
		return fmt.Errorf("read the paired devices in %s: %w; delete it, and pair them anew", devicesFile, err)
	}
	for _, one := range all {
		if one == nil {
			return fmt.Errorf("read the paired devices in %s: one of them is nothing; delete it, and pair them anew", devicesFile)
		}
		one.ctx, one.revoke = context.WithCancel(context.Background())
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	d.all = all
	return nil
}

// write brings the devices to the disk. The caller holds d.mu.
func (d *devices) write(root *os.Root) error {
	text, err := json.MarshalIndent(d.all, "", "  ")
	if err != nil {
		return err
	}
	return writeSecret(root, devicesFile, append(text, '\n'))
}

// called is the name that a device has now.
func (d *devices) called(sign string) string {
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, one := range d.all {
		if one.Sign == sign {
			return one.Name
		}
	}
	return sign
}

// pair takes in a device and returns its token.
func (d *devices) pair(root *os.Root, name string) (*device, string, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if len(d.all) >= mostDevices {
		return nil, "", newProblem(http.StatusConflict, "request", "Too many devices", "%d devices were paired with this workshop; delete %s to begin anew", len(d.all), devicesFile)
	}
	name = d.unlike(name, nil)
	token := rand.Text() + rand.Text() // 2 · 130 bits
	one := &device{ID: strings.ToLower(rand.Text()[:12]), Sign: name, Name: name, Hash: hashOf(token), Paired: time.Now().UTC(), Seen: time.Now().UTC()}
	one.ctx, one.revoke = context.WithCancel(context.Background())
	d.all = append(d.all, one)
	if err := d.write(root); err != nil {
		d.all = d.all[:len(d.all)-1]
		return nil, "", err
	}
	return one, token, nil
}

// unlike makes a name unlike those of all other devices, in the log too.
func (d *devices) unlike(name string, own *device) string {
	taken := func(s string) bool {
		if strings.EqualFold(s, atHome) {
			return true
		}
		for _, one := range d.all {
			if one != own && (strings.EqualFold(one.Sign, s) || strings.EqualFold(one.Name, s)) {
				return true
			}
		}
		return false
	}
	try := name
	for n := 2; taken(try); n++ {
		try = fmt.Sprintf("%s %d", name, n)
	}
	return try
}

// holder is the device that holds a token, nil when none does.
func (d *devices) holder(root *os.Root, token string) *device {
	hash := hashOf(token)
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, one := range d.all {
		if one.Hash != hash { // of hashes nothing is learned by the time it takes
			continue
		}
		if now := time.Now().UTC(); now.Sub(one.Seen) > seenEvery {
			one.Seen = now
			d.write(root) // only when it was last seen is lost
		}
		return one
	}
	return nil
}

// change looks a device up that is not revoked, changes it, and keeps it.
func (d *devices) change(root *os.Root, id string, change func(*device)) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, one := range d.all {
		if one.ID == id && one.Hash != "" {
			was := *one
			change(one)
			if err := d.write(root); err != nil {
				one.Name, one.Hash, one.Revoked = was.Name, was.Hash, was.Revoked
				return err
			}
			if one.Hash == "" {
				one.revoke()
			}
			return nil
		}
	}
	return notFound("no device of that kind is paired")
}

func hashOf(token string) string {
	sum := sha256.Sum256([]byte(token))
	return hex.EncodeToString(sum[:])
}

type deviceKey struct{}

// paired is the device that a request came from, nil on the loopback address.
func paired(r *http.Request) *device {
	d, _ := r.Context().Value(deviceKey{}).(*device)
	return d
}

// deviceOf is the name in the log of the device that a request comes from. On the
// loopback address a page may say so itself: each browser has a queue of its own.
func deviceOf(r *http.Request, says string) (string, error) {
	if d := paired(r); d != nil {
		return d.Sign, nil
	}
	if says == "" {
		return atHome, nil
	}
	return deviceName(says)
}

// deviceName tidies a name that a person gave a device.
func deviceName(name string) (string, error) {
	name = strings.Join(strings.Fields(name), " ")
	if name == "" || utf8.RuneCountInString(name) > mostDeviceName || !utf8.ValidString(name) || strings.ContainsFunc(name, func(c rune) bool { return !unicode.IsPrint(c) }) {
		return "", badRequest("a device's name has 1 to %d letters", mostDeviceName)
	}
	return name, nil
}
