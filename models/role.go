package models

// Role says what the holder of a token may do.
type Role string

// The roles. A volunteer logs, sticks and checks, and looks for nests; a lead also pots
// and decides; a coordinator also keeps stands, rules, settings and people, and
// reviews. A reader only reads. A land manager reads the stands on their land, and
// enters closures, looks for nests and the cuts of others there.
const (
	Volunteer   Role = "volunteer"
	Lead        Role = "lead"
	Coordinator Role = "coordinator"
	Manager     Role = "manager"
	Reader      Role = "reader"
)

// Roles lists every role.
var Roles = []Role{Volunteer, Lead, Coordinator, Manager, Reader}

// Known says that the word is a role.
func (r Role) Known() bool { return oneOf(r, Roles) }

// Deed is a kind of request, by who may make it.
type Deed string

// The deeds, from the most open on.
const (
	DeedGreet   Deed = "greet"   // see what everyone with a token sees
	DeedStands  Deed = "stands"  // read stands and what was taken of them
	DeedRead    Deed = "read"    // read everything else that is kept about plants
	DeedLog     Deed = "log"     // log, handle, stick and check cuttings
	DeedTend    Deed = "tend"    // pot, split, decide, make reminders
	DeedLook    Deed = "look"    // enter looks for nests
	DeedGuard   Deed = "guard"   // enter closures and the cuts of others
	DeedKeep    Deed = "keep"    // keep taxa, stands, surveys, rules and settings, and review
	DeedOversee Deed = "oversee" // see to tokens, people, mail, and who changed what
)

// Deeds lists every deed.
var Deeds = []Deed{DeedGreet, DeedStands, DeedRead, DeedLog, DeedTend, DeedLook, DeedGuard, DeedKeep, DeedOversee}

// Caller is who makes a request. The zero Caller is the nursery itself: its jobs,
// and whoever works on the database without a door.
type Caller struct {
	Token       string // id of the token; empty where none is needed
	Name        string // as the token is called
	Role        Role
	LandManager string // whose land a manager sees; empty for other roles
	Request     string // method and path, for the record of changes
	RequestID   string
}

// Is says that the caller has one of some roles.
func (c Caller) Is(roles ...Role) bool { return oneOf(c.Role, roles) }

// SeesExact says that the caller may see coordinates as they are kept: the
// nursery itself, coordinators, and the manager of the land.
func (c Caller) SeesExact() bool { return c.Role == "" || c.Is(Coordinator, Manager) }

// Sees says that the caller may know of a stand: a manager knows the stands on
// their own land alone.
func (c Caller) Sees(s *Stand) bool {
	return c.Role != Manager || NameKey(c.LandManager) == NameKey(s.LandManager)
}
