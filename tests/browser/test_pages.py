"""Every page of every role: free of barriers, whole at any width, and kind to a bad connection."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import ConsoleMessage, Page, Response, Route, expect

from counter.demo import services as demo
from counter.demo.services import load_demo
from counter.intake import services
from counter.intake.drafts import PieceChanges
from counter.intake.services import start_draft
from counter.models import IntakeDraft, Pickup
from counter.pickup import services as pickup
from counter.pickup.queries import counted_out
from counter.roles import ROLES_FOR, allowed
from tests import building
from tests.browser.looking import beyond_the_edge, off_the_look, over_when_mirrored, too_small
from tests.browser.test_main_job import sign_in
from tickets.acting import Act
from tickets.choices import BOARD_STATIONS, MoveKind, PieceState, Station
from tickets.models import Customer, Load, Machine, Move, Partner, Piece, Programme, Ticket
from tickets.tracking import services as tracking

NO_PAGES = {
    "home", "logout", "intake_start", "intake_piece_add", "intake_piece_remove", "intake_open",
    "intake_discard", "intake_overrides", "intake_photo",
    "pickup_scan", "pickup_unscan", "pickup_done", "pay",
    "message_called", "tickets:scan", "tickets:hold", "tickets:release", "tickets:redo",
    "tickets:return_undone", "tickets:complete", "tickets:piece_photo",
    "tickets:loads_scan", "tickets:load_open", "tickets:load_scan", "tickets:load_never_in",
    "paper_slip", "paper_receipt", "tickets:paper_tags", "tickets:paper_cards", "paper_plan",
}  # fmt: skip
"""Names that send on, take only POST, or answer with a photo or a PDF."""

FIGURES = ("late", "at-risk", "holds", "in-process", "unpaid", "finished", "redo", "first-pass",
           "due", "turnaround", "booked", "takings", "came-wash", "left-check", "process-press",
           "jam-bench", "unclaimed-0-7")  # fmt: skip
LOOKED_OVER = {"pockets": "empty", "stains": "none", "damage": "none", "fastenings": "none"}


def addresses() -> Iterator[tuple[str, str]]:
    """Name and path of each page, for rows that are in the database now."""
    draft = IntakeDraft.objects.filter(ticket=None).latest("started_at")
    ready = Ticket.objects.filter(ready_at__isnull=False, closed_at=None).latest("number")
    under_way = Ticket.objects.filter(ready_at=None).latest("number")
    closed = Ticket.objects.filter(closed_at__isnull=False).latest("number")
    held = Piece.objects.filter(state=PieceState.HELD).latest("code")
    waiting = Piece.objects.filter(state=PieceState.WAITING).latest("code")
    person = User.objects.filter(groups__name="counter").earliest("pk")
    pages: tuple[tuple[str, *tuple[object, ...]], ...] = (
        ("login",), ("switch",), ("switch_pin", person.pk), ("desk",), ("customer_new",),
        ("customer", ready.customer_id), ("intake", draft.pk), ("intake_piece", draft.pk, 1),
        ("pickup_find",), ("messages_out",), ("tickets:boards",), ("owner_day",),
        ("owner_quarter",), ("plan",), ("plan_wall",), ("crew_days",),
        ("shop_settings",), ("prices",), ("shop_hours",), ("shop_places",), ("shop_staff",),
        ("shop_person", person.pk), ("shop_weights",), ("house_rules",),
        ("care",), ("care_try",), ("care_entry", "fibre.wool"), ("care_entry", "label.wash_30"),
        ("shop_machines",), ("shop_machine", Machine.objects.earliest("pk").pk),
        ("shop_programme_new", "washer"), ("shop_programme", Programme.objects.earliest("pk").pk),
        ("shop_partners",), ("shop_partner", Partner.objects.earliest("pk").pk), ("shop_holidays",),
        ("tickets:loads", "wash"), ("tickets:loads", "dry"), ("tickets:loads", "send_out"),
        *(("tickets:load", load.pk) for load in Load.objects.order_by("pk")[:2]),
        *(("pickup", row.number) for row in (ready, under_way, closed)),
        *(("tickets:ticket", row.number) for row in (ready, under_way, closed)),
        *(("tickets:piece", row.code) for row in (held, waiting)), ("piece_heat", held.code),
        *(("tickets:board", station) for station in BOARD_STATIONS),
        *(("owner_figure", figure) for figure in FIGURES),
    )  # fmt: skip
    for name, *arguments in pages:
        yield name, reverse(name, args=arguments)
    yield "desk", reverse("desk") + "?q=ad"
    yield "desk", reverse("desk") + "?q=nobody"
    yield "pickup_find", reverse("pickup_find") + "?q=zzz"


def fill(by: User) -> None:
    """One of everything: under way, held, ready, collected, and an intake that is not opened."""
    building.make_ticket(by, [building.shirt(), building.trousers()])
    stopped = building.make_ticket(by, [building.jumper()]).pieces.get()
    tracking.hold(
        stopped.code, "Zip is on order", by, timezone.localdate() + timedelta(days=1), Act(by=by)
    )
    building.make_ready(building.make_ticket(by, [building.jumper()] * 2), by)
    gone = building.make_ready(building.make_ticket(by), by, "A2")
    pickup.scan(gone.number, gone.pieces.get().code, Act(by=by))
    standing = counted_out(gone)
    assert standing.pickup is not None
    pickup.hand_over(standing.pickup.pk, "Ada Brook", Pickup.Proof.SLIP, Act(by=by))
    loaded = building.make_ticket(by, [building.shirt(stains=[])] * 2)
    washing = [building.work_until(piece, Station.WASH, by) for piece in loaded.pieces.all()]
    building.make_load(by, washing[:1])
    draft_of_a_jumper(by)


def draft_of_a_jumper(by: User) -> IntakeDraft:
    """An intake with one piece of which nothing is left to answer."""
    customer = Customer.objects.first() or building.make_customer()
    draft = start_draft(customer, by)
    services.add_piece(draft.pk, 0)
    draft.refresh_from_db()
    answers: PieceChanges = {"facts": building.jumper(), "inspection": LOOKED_OVER}
    return services.save_piece(draft.pk, draft.pieces[0]["id"], answers)


class Complaints:
    """What the browser itself complains of: script errors, the content policy, failed requests."""

    def __init__(self, page: Page) -> None:
        self._found: list[str] = []
        page.on("console", self._said)
        page.on("response", self._answered)

    def _said(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            self._found.append(message.text)

    def _answered(self, response: Response) -> None:
        if response.status >= 400:
            self._found.append(f"{response.status} {response.url}")

    def take(self) -> list[str]:
        complaints, self._found = self._found, []
        return complaints


def unfold(page: Page) -> None:
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")


def test_every_named_page_is_walked(transactional_db: None, staff: Mapping[str, User]) -> None:
    """A page that is added to the shop has to be added here."""
    fill(staff["owner"])
    names = {name for name in ROLES_FOR if not name.startswith("api:")}
    assert {name for name, _path in addresses()} == names - NO_PAGES


@pytest.mark.parametrize("whole", [False, pytest.param(True, marks=pytest.mark.slow)])
def test_each_page_fits_a_phone_and_a_thumb(
    page_at: Callable[..., Page], staff: Mapping[str, User], whole: bool
) -> None:
    """At 360 px: as it opens, within the rules of the look; with everything unfolded, nothing over
    the edge, whichever way the words run, and no target under 48 px.

    ``whole``: the last one of each page, or every one that there is.
    """
    fill(staff["owner"])
    page = page_at(360)
    sign_in(page, "owner")
    complaints = Complaints(page)
    faults: dict[str, list[str]] = {}
    paths = [path for _, path in addresses()] if whole else dict(addresses()).values()
    for path in paths:
        page.goto(path)
        page_faults = off_the_look(page)
        unfold(page)
        page_faults += complaints.take() + beyond_the_edge(page) + too_small(page)
        page_faults += over_when_mirrored(page)
        if page_faults:
            faults[path] = page_faults
    assert faults == {}


@pytest.mark.parametrize("width", [360, pytest.param(600, marks=pytest.mark.slow)])
def test_the_current_link_of_every_row_of_links_is_in_view(
    page_at: Callable[..., Page], staff: Mapping[str, User], width: int
) -> None:
    """A row that scrolls opens at the page at hand, and says on which side it hides more."""
    page = page_at(width)
    sign_in(page, "owner")
    page.goto(reverse("shop_settings"))
    tabs = page.locator(".parts a")
    for path in [tab.get_attribute("href") or "" for tab in tabs.all()]:
        page.goto(path)
        current = page.locator("nav [aria-current]")
        expect(current).to_have_count(2)
        for here in current.all():
            expect(here).to_be_in_viewport(ratio=0.99)  # a part of a pixel may be cut
        rows: list[tuple[bool, bool, bool, bool]] = page.locator(".rooms, .parts").evaluate_all(
            """rows => rows.map((row) => [
                row.classList.contains("more-left"), row.scrollLeft > 1,
                row.classList.contains("more-right"),
                row.scrollLeft + row.clientWidth < row.scrollWidth - 1])"""
        )
        assert [(left, right) for left, _, right, _ in rows] == [
            (hidden_left, hidden_right) for _, hidden_left, _, hidden_right in rows
        ], path


@pytest.mark.slow
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_page_of_the_demo_shop_has_a_fault_that_can_be_measured(
    page_at: Callable[..., Page],
    axe: Callable[[Page], list[str]],
    transactional_db: None,
    scheme: str,
) -> None:
    """All pages of all roles, at three widths, in a shop with thirty days behind it."""
    load_demo()
    owner = User.objects.filter(groups__name="owner").earliest("pk")
    draft_of_a_jumper(owner)
    piece = Piece.objects.filter(state=PieceState.WAITING).earliest("code")
    tracking.hold(piece.code, "Zip is on order", owner, timezone.localdate(), Act(by=owner))
    faults: dict[str, list[str]] = {}
    for role in ("owner", "counter", "backroom"):
        person = User.objects.filter(groups__name=role).earliest("pk")
        page = page_at(1280, color_scheme=scheme)
        page.goto("/login/")
        page.get_by_label("Username").fill(person.username)
        page.get_by_label("Password").fill(demo.PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        expect(page.locator(".person")).to_be_visible()
        complaints = Complaints(page)
        for name, path in addresses():
            if name == "login" or not allowed(person, name):
                continue
            page.goto(path)
            page_faults = off_the_look(page)
            unfold(page)
            page_faults += complaints.take()
            for width in (1280, 800, 360):
                page.set_viewport_size({"width": width, "height": 800})
                page_faults += [f"{width}: {fault}" for fault in beyond_the_edge(page)]
                page_faults += [f"{width}: {fault}" for fault in too_small(page)]
                if width != 800:
                    page_faults += [f"{width}: {fault}" for fault in axe(page)]
            if page_faults:
                faults[f"{role} {path}"] = page_faults
    assert faults == {}


@pytest.mark.parametrize("scripted", [True, False])
def test_a_double_tap_opens_one_ticket(
    page_at: Callable[..., Page], staff: Mapping[str, User], scripted: bool
) -> None:
    draft = draft_of_a_jumper(staff["counter"])
    page = page_at(800, java_script_enabled=scripted)
    sign_in(page, "counter")
    page.goto(reverse("intake", args=[draft.pk]))
    page.get_by_role("button", name="Open the ticket").dblclick()
    expect(page.get_by_role("heading", level=1)).to_have_text(re.compile(r"^1\d{6}$"))
    assert Ticket.objects.count() == 1
    assert Piece.objects.count() == 1


def lose(route: Route) -> None:
    route.abort()


def test_a_lost_search_says_so_and_is_sent_again(
    page_at: Callable[..., Page], staff: Mapping[str, User]
) -> None:
    building.make_customer()
    page = page_at(800)
    sign_in(page, "counter")
    page.route("**/desk/?q=*", lose)
    page.get_by_label("Phone, name or ticket number").press_sequentially("brook")
    expect(page.locator("#trouble")).to_be_visible()
    expect(page.locator("#trouble")).to_contain_text("did not reach the shop's computer")
    page.unroute("**/desk/?q=*", lose)
    page.get_by_role("button", name="Try again").click()
    expect(page.locator("#found")).to_contain_text("Ada Brook")
    expect(page.locator("#trouble")).to_be_hidden()


def test_a_lost_tap_of_the_intake_is_sent_again(
    page_at: Callable[..., Page], staff: Mapping[str, User]
) -> None:
    draft = draft_of_a_jumper(staff["counter"])
    path = reverse("intake_piece", args=[draft.pk, 1])
    page = page_at(800)
    sign_in(page, "counter")
    page.goto(path)
    page.route(f"**{path}", lose)
    page.locator("#group-colour").get_by_label("White").check()
    expect(page.locator("#trouble")).to_be_visible()
    draft.refresh_from_db()
    assert draft.pieces[0]["facts"]["colour"] == "dark"
    page.unroute(f"**{path}", lose)
    with page.expect_response(f"**{path}") as answered:
        page.get_by_role("button", name="Try again").click()
    assert answered.value.ok
    expect(page.locator("#trouble")).to_be_hidden()
    draft.refresh_from_db()
    assert draft.pieces[0]["facts"]["colour"] == "white"


def test_the_job_goes_on_without_script(
    page_at: Callable[..., Page], staff: Mapping[str, User]
) -> None:
    """Intake, board and pickup with plain forms; after each scan the box is ready again."""
    customer = building.make_customer()
    page = page_at(800, java_script_enabled=False)
    sign_in(page, "owner")
    take_in_without_script(page, customer)
    ticket = Ticket.objects.get()
    piece = ticket.pieces.get()
    assert piece.facts["stains"] == [{"stain": "coffee, tea black"}]

    page.goto("/boards/intake/")
    box = page.get_by_label("Scan a tag, or type its figures")
    expect(box).to_be_focused()
    page.keyboard.type(piece.code)
    page.keyboard.press("Enter")
    expect(page.locator("#results .newest")).to_contain_text(f"{piece.spoken}: Intake done.")
    expect(box).to_be_focused()
    assert Move.objects.filter(kind=MoveKind.WORKED).count() == 1

    building.make_ready(ticket, staff["backroom"])
    page.goto(f"/pickup/{ticket.number}/")
    out = page.get_by_label("Scan each piece that leaves")
    expect(out).to_be_focused()
    page.keyboard.type(piece.code)
    page.keyboard.press("Enter")
    expect(page.locator("#head-scan")).to_contain_text("1 of 1")
    expect(page.get_by_label("Scan each piece that leaves")).to_be_focused()
    page.get_by_role("button", name=re.compile(r"^Take £\d")).click()
    expect(page.locator("#head-pay")).to_contain_text("paid")
    page.get_by_role("radio", name=customer.name).check()
    page.get_by_role("radio", name="Claim slip", exact=True).check()
    page.get_by_role("button", name="Hand over 1 piece").click()
    expect(page.locator(".messages")).to_contain_text(f"1 piece handed to {customer.name}.")


def take_in_without_script(page: Page, customer: Customer) -> None:
    page.goto(f"/customers/{customer.pk}/")
    page.get_by_role("button", name="Take in pieces").click()
    page.get_by_role("button", name="First piece").click()
    page.locator("#group-kind").get_by_label("cotton shirt", exact=True).check()
    page.locator("#group-services").get_by_label("Clean", exact=True).check()
    page.locator("#group-colour").get_by_label("White").check()
    page.locator("#group-construction").get_by_label("Woven", exact=True).check()
    page.get_by_role("button", name="100 % cotton").click()
    expect(page.locator("#decision")).to_contain_text("Still to answer:")
    page.locator("#group-label").get_by_label("Read", exact=True).check()
    page.locator("#group-symbols").get_by_label("wash 60 °C", exact=True).check()
    page.locator("#group-pockets").get_by_label("Empty").check()
    page.locator("#group-stains").get_by_label("Listed").check()
    page.get_by_label("Stains: another one").fill("coffee, tea black")
    page.locator("#group-damage").get_by_label("None seen").check()
    page.locator("#group-fastenings").get_by_label("Tried, they work").check()
    page.get_by_role("button", name="Done with this piece").click()
    page.get_by_role("button", name="Open the ticket").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(re.compile(r"^1\d{6}$"))


def test_the_wishes_of_the_device_are_heeded(
    page_at: Callable[..., Page], staff: Mapping[str, User]
) -> None:
    """Dark mode turns the ground dark, and with reduced motion nothing moves."""
    ground = "getComputedStyle(document.documentElement).backgroundColor"
    moves = """() => {
        const one = document.createElement("p");
        one.className = "arrives";
        document.body.append(one);
        return getComputedStyle(one).animationName;
    }"""
    light, dark = page_at(360, color_scheme="light"), page_at(360, color_scheme="dark")
    still = page_at(360, reduced_motion="reduce")
    for page in (light, dark, still):
        page.goto("/login/")
    assert light.evaluate(ground) == "rgb(244, 238, 226)"
    assert dark.evaluate(ground) == "rgb(25, 23, 20)"
    assert light.evaluate(moves) == "arrives"
    assert still.evaluate(moves) == "none"
