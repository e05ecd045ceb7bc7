"""What to look at in the demo: each trouble in one sentence, with the vehicle that has it."""

from dataclasses import dataclass

from installs.domain.findings import Code
from installs.models import Standing

Proof = Standing.Proof


@dataclass(frozen=True)
class Trouble:
    """`key` names the vehicle in fleet.py; `codes` are what the judgement finds on it."""

    key: str
    sentence: str
    proof: str
    codes: frozenset[Code] = frozenset()


def _told(key: str, sentence: str, proof: str, *codes: Code) -> Trouble:
    return Trouble(key, sentence, proof, frozenset(codes))


TROUBLES = (
    _told("outlet_dead", "Bram pulls F08 to save the battery, and the outlet that feeds his "
          "portable brake unit hangs on F08.", Proof.NEVER, Code.NO_POWER),
    _told("load_side_tap", "The brake unit of Oskar's Merle is tapped from the load side of F31, "
          "the fuse that has to come out so that steering assist rests.",
          Proof.NEVER, Code.NO_POWER),
    _told("negative_leg", "Fi's Fenland is towed with the battery's negative leg open: unit and "
          "transmitter keep their plus and lose their ground.", Proof.NEVER, Code.NO_POWER),
    _told("unknown_feed", "Nobody knows where the brake unit in Åsa's Skerry was tapped, and "
          "nobody wrote down the transmitter at all.",
          Proof.NEVER, Code.NOT_KNOWN, Code.FEED_NOT_RECORDED),
    _told("revised", "A bulletin has Ros pull F21 instead of F08; her proof of last summer went "
          "stale, for her transmitter hangs on the load side of F21.",
          Proof.STALE, Code.NO_POWER),
    _told("fleet_one", "The same bulletin reached the falconry's two Teasels on the same day.",
          Proof.STALE, Code.NO_POWER),
    _told("swapped_new", "The Okonjos changed cars and took the portable unit along; where it is "
          "plugged in now is not recorded.", Proof.NEVER, Code.FEED_NOT_RECORDED),
    _told("swapped_old", "Their old Halm went to a dealer with bar, relay and wiring left in.",
          Proof.STALE, Code.NO_BRAKE_UNIT),
    _told("not_towable", "Halvard bought a Quern, and its manual forbids towing it on its wheels; "
          "the base plate was fitted elsewhere.", Proof.NOT_TOWED, Code.NOT_ALLOWED),
    _told("not_established", "Ragna's electric Sedge: the guide says nothing of towing, the maker "
          "was asked and has not answered.", Proof.NEVER, Code.NOT_ESTABLISHED, Code.NOT_KNOWN),
    _told("customer_says", "Ewan has towed his Tarn for years like this, he says; no document "
          "stands behind it.", Proof.NEVER, Code.UNVERIFIED_SOURCE),
    _told("two_sources", "Manual and supplement of the Halm differ on speed and fuse; the shop "
          "goes by the stricter one and says so.", Proof.GOOD),
    _told("timer", "The console outlet of Gil's Dunlin is alive for 20 minutes after key-off, "
          "and then his brake unit sleeps.", Proof.NEVER, Code.TIMED_POWER),
    _told("menu", "Pilar's outlet is alive only while a menu says so, and anybody can change "
          "the menu.", Proof.NEVER, Code.CONDITIONAL_POWER, Code.CAN_BE_CHANGED),
    _told("good", "Signe and Paul's Fenland: negative leg open as well, grounds at the battery "
          "post, everything proven.", Proof.GOOD),
    _told("never_proven", "Inés's Skerry should work in every state, steering assist alive on the "
          "charge line; nobody has proven it yet.", Proof.NEVER),
    _told("steering_off", "In Dragana's Merle steering assist has to be dead while towed, and "
          "it is.", Proof.GOOD),
    _told("overdue", "Walther has not been in for over a year: breakaway test and all the rest "
          "are overdue.", Proof.GOOD),
    _told("old_battery", "June's breakaway battery passed its last test and is over four years "
          "old by its date code; the tow sheet finds her receiver weaker than the loaded car.",
          Proof.GOOD),
    _told("shared_first", "Nikos carries one portable unit between two cars; it left this Halm, "
          "whose set-up and proof wait for it.", Proof.GOOD),
    _told("shared_second", "His Vireo has the unit now, on the outlet kit, and was proven.",
          Proof.GOOD),
    _told("sold", "Teresa sold her Sorrel last month: its reminders ended that day.", Proof.GOOD),
    _told("mail_failed", "Luc's mailbox does not exist any more: one mail failed, the desk has to "
          "phone.", Proof.GOOD),
    _told("snoozed", "Chidi asked not to be reminded before he is back from the coast.",
          Proof.GOOD),
    _told("booked", "Mabel has booked the yearly visit; nothing more is mailed until then.",
          Proof.GOOD),
    _told("outside_work", "A dealer replaced the stop lamp switch of Kenji's Sorrel on the road: "
          "the proof is in doubt until it is repeated.", Proof.STALE),
    _told("quiet_04", "The pin of Daphne's breakaway switch was pulled in the shop and nothing "
          "happened: her Sorrel is not to be towed until a good look.",
          Proof.STALE, Code.FAILED_LOOK),
    _told("quiet_12", "The lock of Kofi's tow bar gave way to a tool only; it is due at once.",
          Proof.GOOD, Code.WEAK_LOOK),
    _told("opted_out", "Dale wants no service reminders; a safety notice would still reach him.",
          Proof.GOOD),
    _told("no_email", "Verity has no e-mail; the list of silences says so. Her lanyard comes "
          "taut before the cables do: see the tow sheet.", Proof.GOOD),
    _told("same_address", "Marit and her brother share an address, and each gets a mail of "
          "their own.", Proof.GOOD),
    _told("snowbird", "Honoré winters in Arizona; his mails keep Phoenix hours. On his tow "
          "sheet every link of the chain holds.", Proof.GOOD),
)  # fmt: skip
