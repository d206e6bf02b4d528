package cli

import (
	"cmp"
	"fmt"
	"net/mail"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"withybed/jobs"
)

// mailWay is how letters leave this computer.
type mailWay struct {
	post  jobs.Post // nil where there is neither a relay nor a folder
	from  mail.Address
	where string // in words, after sent
}

const noMailFolder = "there is no folder for mail, since HOME is not set: set WITHY_MAIL_FOLDER, as in /srv/mail, or WITHY_MAIL_RELAY"

// noSender is the sender of letters in a folder, where none is set.
const noSender = "withybed@localhost"

// mailWay is the way that the settings say: through a relay, or into a folder.
func (s *session) mailWay() (mailWay, error) {
	set := &s.settings
	from, err := mail.ParseAddress(cmp.Or(set.MailFrom, noSender))
	if err != nil {
		return mailWay{}, usagef("WITHY_MAIL_FROM is %q, and must be an address, as in withy@wrenlow.example", set.MailFrom)
	}
	if set.MailRelay == "" {
		return s.folderWay(*from), nil
	}
	if set.MailFrom == "" {
		return mailWay{}, usagef("WITHY_MAIL_FROM is missing: a relay needs the address that letters come from, as in withy@wrenlow.example")
	}
	address, err := jobs.ParseRelay(set.MailRelay)
	if err != nil {
		return mailWay{}, usagef("WITHY_MAIL_RELAY %v", err)
	}
	relay, err := jobs.NewRelay(address, set.MailPassword, *from)
	if err != nil {
		return mailWay{}, usagef("WITHY_MAIL_RELAY %v; the password is WITHY_MAIL_PASSWORD", err)
	}
	return mailWay{relay, *from, "through " + relay.String()}, nil
}

func (s *session) folderWay(from mail.Address) mailWay {
	folder := s.mailFolder()
	if folder == "" {
		return mailWay{from: from}
	}
	return mailWay{jobs.Folder{Path: folder, From: from}, from, "into the folder " + folder}
}

// mailFolder is the folder that was set, or one beside the embedded database, or
// in the user's data folder; empty where there is none.
func (s *session) mailFolder() string {
	if s.settings.MailFolder != "" {
		return s.settings.MailFolder
	}
	url, err := s.databaseURL()
	if err != nil {
		return ""
	}
	if path, embedded := strings.CutPrefix(url, "sqlite:"); embedded {
		return filepath.Join(filepath.Dir(path), "mail")
	}
	folder, err := dataFolder(runtime.GOOS, s.env.Vars)
	if err != nil {
		return ""
	}
	return filepath.Join(folder, "withybed", "mail")
}

// mailJobs is the job that sends mail, where there is a way for it. The watcher is
// told of every try whether the letter was sent.
func (s *session) mailJobs(h *house, way mailWay, watch func(sent bool)) []jobs.Job {
	if way.post == nil {
		s.warn("%s; until then mail waits", noMailFolder)
		return nil
	}
	sender := jobs.NewMail(h.Nursery, way.post, way.from, s.senderName())
	sender.Watch = watch
	return []jobs.Job{sender.Job()}
}

// senderName tells this process from all others that send mail from the same
// database.
func (s *session) senderName() string {
	host, err := os.Hostname()
	if err != nil {
		host = "this computer"
	}
	return fmt.Sprintf("%s, process %d, %s", host, os.Getpid(), s.env.NewID())
}
