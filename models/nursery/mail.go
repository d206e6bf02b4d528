package nursery

import (
	"slices"
	"strings"

	"withybed/models"
	"withybed/models/documents"
	"withybed/models/rules"
	"withybed/models/store"
)

// occasion is something that people are to be told of: which lists of mail it
// concerns, and how it is told to those who get some of them.
type occasion struct {
	name  string // an address is told of it once
	lists []models.MailList
	tell  func(lists []models.MailList) documents.Message
}

// post puts letters about occasions into the outbox, one for each address,
// whatever lists it is on. Where nobody gets a list there is a letter without an
// address, so that what it says is not lost.
func (n *Nursery) post(tx *store.Tx, now moment, occasions ...occasion) error {
	if len(occasions) == 0 {
		return nil
	}
	readers := mailReaders{tx: tx, people: map[models.MailList][]models.Person{}}
	var letters []models.Letter
	for _, o := range occasions {
		addresses, lists, err := readers.of(o.lists)
		if err != nil {
			return err
		}
		for _, address := range addresses {
			letters = append(letters, n.letter(now, &o, address, lists[models.AddressKey(address)]))
		}
	}
	return tx.AddLetters(letters)
}

func (n *Nursery) letter(now moment, o *occasion, address string, lists []models.MailList) models.Letter {
	m := o.tell(lists)
	letter := models.Letter{
		ID: n.newID(), Occasion: o.name, Address: address,
		Subject: m.Subject, Text: m.Text, HTML: m.HTML, MadeAt: now.at, TryAt: now.at,
	}
	if address == "" {
		letter.Trouble = models.NobodyGets(lists)
	}
	return letter
}

// mailReaders are the people on the lists of mail, each list read once.
type mailReaders struct {
	tx     *store.Tx
	people map[models.MailList][]models.Person
}

// of are the addresses on some lists, by the codes of people, with the lists each
// is on. Those of a list that nobody is on are of the empty address.
func (m *mailReaders) of(wanted []models.MailList) (addresses []string, lists map[string][]models.MailList, err error) {
	lists = map[string][]models.MailList{}
	add := func(address string, list models.MailList) {
		key := models.AddressKey(address)
		if len(lists[key]) == 0 {
			addresses = append(addresses, address)
		}
		if last := len(lists[key]); last == 0 || lists[key][last-1] != list {
			lists[key] = append(lists[key], list)
		}
	}
	for _, list := range wanted {
		people, err := m.on(list)
		if err != nil {
			return nil, nil, err
		}
		if len(people) == 0 {
			add("", list)
		}
		for _, p := range people {
			add(p.Email, list)
		}
	}
	return addresses, lists, nil
}

func (m *mailReaders) on(list models.MailList) ([]models.Person, error) {
	if people, read := m.people[list]; read {
		return people, nil
	}
	people, err := m.tx.MailPeople(list)
	m.people[list] = people
	return people, err
}

// postReminder tells of the reminder of this week. One of a week that is over is
// there to be read, and mailed to nobody.
func (n *Nursery) postReminder(tx *store.Tx, now moment, r models.Reminder) error {
	if r.Week != rules.WeekOf(now.at, now.Settings, now.place) {
		return nil
	}
	return n.post(tx, now, reminderOccasion(now, r)...)
}

// reminderOccasion tells of a reminder, unless it has nothing to say.
func reminderOccasion(now moment, r models.Reminder) []occasion {
	lists := documents.ReminderLists(&r.Body)
	if len(lists) == 0 {
		return nil
	}
	return []occasion{{"reminder " + r.Week.String(), lists, func(lists []models.MailList) documents.Message {
		return documents.ReminderLetter(now.Name, r, lists)
	}}}
}

// standOccasion tells those who get the mail of the stands.
func standOccasion(name string, m func() documents.Message) occasion {
	return occasion{name, []models.MailList{models.StandMail}, func([]models.MailList) documents.Message { return m() }}
}

// postReviews tells at once of batches that were logged together and await
// review, and of the stands that went over their limit with them: in one letter,
// which shows people by their codes.
func (n *Nursery) postReviews(tx *store.Tx, now moment, records []*models.BatchRecord, exceeded []models.StandNotice) error {
	records = slices.DeleteFunc(slices.Clone(records), func(r *models.BatchRecord) bool { return !r.AwaitsReview })
	if len(records) == 0 {
		return nil
	}
	return n.postReview(tx, now, records[0].ID, records, exceeded)
}

// postReview tells of batches that await review by what made them do so.
func (n *Nursery) postReview(tx *store.Tx, now moment, by string, records []*models.BatchRecord, exceeded []models.StandNotice) error {
	people, err := now.people()
	if err != nil {
		return err
	}
	var notices []models.ReviewNotice
	for _, r := range records {
		notices = append(notices, documents.ReviewNotice(people.Veiled(r)))
	}
	return n.post(tx, now, standOccasion("review "+by, func() documents.Message {
		return documents.ReviewLetter(now.Name, notices, exceeded)
	}))
}

// exceededOccasion tells of a stand that an entry took over its limit, where it
// was within it before.
func exceededOccasion(now moment, before string, stand *models.StandRecord, entry string) []occasion {
	notice, over := exceededNotice(stand, before, now.today)
	if !over {
		return nil
	}
	return []occasion{standOccasion(strings.Join([]string{"exceeded", stand.ID, entry}, " "), func() documents.Message {
		return documents.ExceededLetter(now.Name, notice)
	})}
}

// exceededNotice is the word about a stand that is over its limit and was not
// before.
func exceededNotice(stand *models.StandRecord, before string, today models.Date) (notice models.StandNotice, over bool) {
	exceeded := rules.Exceeded(stand, today)
	if before != "" || exceeded == "" {
		return models.StandNotice{}, false
	}
	return models.StandNotice{Stand: stand.Code, Name: stand.Name, Text: exceeded, Crossed: true}, true
}

// soakOccasions tell of soaks that end within the days of warning, or should have.
// Each is told of once, however often it is found.
func soakOccasions(now moment, told []rules.Told) []occasion {
	var list []occasion
	for _, t := range told {
		for _, end := range rules.SoakEnds(t.Record, t.Story, now.Settings) {
			name := strings.Join([]string{"soak", t.Record.ID, end.LastDay.String()}, " ")
			list = append(list, occasion{name, []models.MailList{models.BenchMail}, func([]models.MailList) documents.Message {
				return documents.SoakLetter(now.Name, end.Item, end.LastDay)
			}})
		}
	}
	return list
}

// postSoaks tells at once of soaks of batches that end soon.
func (n *Nursery) postSoaks(tx *store.Tx, now moment, records ...*models.BatchRecord) error {
	told, err := tell(records, now.today)
	if err != nil {
		return err
	}
	return n.post(tx, now, soakOccasions(now, told)...)
}
