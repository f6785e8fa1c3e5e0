"""The command that recomputes the hash chains of all filed records and the seals over them."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from jobs.models import ChainLink
from jobs.services.seal_verification import seals_verify
from jobs.services.seals import chains_seal, newest_seal
from jobs.services.verification import records_verify


class Command(BaseCommand):
    """Names the first record of each chain that doesn't match, and the first broken seal; exits 1 if there is one."""

    help = "Recompute the hashes of all filed records, kept logs and seals, and name the first that doesn't match."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--seal", action="store_true", help="seal what the chains end with now, if all of it matches"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        broken = [*records_verify(), *seals_verify()]
        for record in broken:
            self.stdout.write(str(record))
        if broken:
            raise CommandError(
                f"{len(broken)} record(s) or seal(s) don't match what was filed.", returncode=1
            )
        links = ChainLink.objects.order_by()
        chains = links.values("chain").distinct().count()
        self.stdout.write(f"All {links.count()} links of {chains} chains match.")
        seal = chains_seal(now=timezone.now()) if options["seal"] else newest_seal()
        if seal is None:
            self.stdout.write("No seal covers them yet; the first is made tonight.")
            return
        unsealed = links.count() - seal.link_count
        self.stdout.write(f"{seal} UTC covers {seal.link_count} links of {seal.chain_count} chains.")
        self.stdout.write(
            f"{unsealed} links were added since. To be kept elsewhere: {seal.number} {seal.sha256}"
        )
