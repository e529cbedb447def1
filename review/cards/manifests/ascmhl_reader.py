"""What one ASC MHL history says, put in the words of a card's paths, and what is wrong with it."""

from collections.abc import Callable

from review.cards.manifests.ascmhl_folders import parents
from review.cards.manifests.ascmhl_history import History, Known, below, ignore_rule, vouched_bytes, why_unused
from review.cards.manifests.ascmhl_xml import TOOL
from review.cards.manifests.base import Checksums

_DO_NOT_TRUST = (
    "Do not trust this copy yet: find out who changed it, or fetch the card with its ascmhl folder again from a copy "
    "made earlier; then check again."
)
_ASK_AGAIN = "Ask whoever made it for the history again."
_ASK_FOR_ANOTHER = "Ask for an ASC MHL history in an ascmhl folder, or for a list of MD5 or xxHash checksums."


def tell_unused(checksums: Checksums, path: str) -> None:
    """An .mhl file, by its path from the card folder, that no chain names."""
    reason = why_unused(checksums.tree.folder, path)
    checksums.caution("mhl-not-used", f"{path} was not compared with the card: {reason}.", _ASK_FOR_ANOTHER, path)


class HistoryReader:
    """What one history says, put in the words of the card's paths."""

    def __init__(self, checksums: Checksums, history: History):
        self.checksums = checksums
        self.history = history
        self.known: Known = history.known
        self.is_ignored = self._ignore_rule()

    def below_root(self, path: str) -> str:
        """A path of this history, counted from the card folder."""
        return below(self.history.root, path)

    def _ignore_rule(self) -> Callable[[str], bool]:
        try:
            return self.history.ignore_rule()
        except ValueError as problem:
            path = self.history.generations[-1].path
            what = f"The ignore patterns of {path} cannot be read ({problem}), so none was followed."
            self.checksums.caution("bad-list", what, "Tell whoever made the manifest.", path)
            return ignore_rule(())

    def add(self, own_files: list[str]) -> None:
        """`own_files`: the card's files that belong to this history and to no nested one."""
        checksums, history = self.checksums, self.history
        for trouble in history.troubles:
            next_step = _DO_NOT_TRUST if trouble.code == "manifest-altered" else _ASK_AGAIN
            checksums.stop(trouble.code, trouble.what, next_step, trouble.path)
        for path in history.unnamed:
            tell_unused(checksums, path)
        for source, _, generation in history.generations:
            checksums.sources.append(source)
            for reference, c4 in generation.references:
                path = self.below_root(reference)
                data, problem = vouched_bytes(checksums.tree.folder, path, c4, source)
                if data is None:
                    checksums.stop("manifest-altered", f"{path} {problem}", _DO_NOT_TRUST, path)
        own = {vouched.path for vouched in history.generations if vouched.generation.tool == TOOL}
        cut = len(self.below_root("x")) - 1
        checksums.ignored.update(path for path in own_files if self.is_ignored(path[cut:]))
        for path in list(self.known.files):
            if self.is_ignored(path):
                del self.known.files[path]
                continue
            whole = self.below_root(path)
            for algorithm, digests in self.known.files[path].items():
                for digest, source in digests:
                    checksums.expect(whole, algorithm, digest, source, own=source in own)
            if path in self.known.sizes:
                checksums.sizes.setdefault(checksums.spelled(whole), self.known.sizes[path])
        self._tell_lost_folders()

    def _tell_lost_folders(self) -> None:
        """Folders that ever held a file are left to what is said of the file."""
        files = (file.path for vouched in self.history.generations for file in vouched.generation.files)
        holding: set[str] = set()
        for path in files:
            for folder in parents(path):
                if folder in holding:
                    break  # and so are those above it
                holding.add(folder)
        here = set(self.checksums.tree.folders)
        for path in self.known.folders:
            whole = self.below_root(path)
            if whole not in here and path not in holding and not self.is_ignored(f"{path}/"):
                what = f"The empty folder {whole} is listed but did not come with the card."
                self.checksums.caution("missing", what, "No file is lost by it; copy whole cards next time.", whole)
