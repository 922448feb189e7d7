"""What pip failed at, in a sentence that says what to do."""

import platform
import re

NO_NETWORK = (
    "Connection aborted",
    "Connection refused",
    "Connection to",
    "Failed to establish a new connection",
    "Max retries exceeded",
    "Name or service not known",
    "NameResolutionError",
    "Network is unreachable",
    "ProxyError",
    "Read timed out",
    "ReadTimeoutError",
    "SSLError",
    "Temporary failure in name resolution",
)


def failure_words(output: str, lock: str) -> str:
    """Read pip's output, which the person has seen go by, for its cause."""
    if "DO NOT MATCH THE HASHES" in output:
        return (
            f"A package differs from its hash in {lock}, so it was not installed. "
            "Run the same command again; if that does not help, something between "
            "this machine and the package index changes what is downloaded."
        )
    if "No space left on device" in output:
        return "The disk is full. Free 1 GB and run the same command again."
    if any(sign in output for sign in NO_NETWORK):
        return (
            f"The packages of {lock} could not be fetched: the package index cannot "
            "be reached. Connect to the network (behind a proxy, set HTTPS_PROXY) and "
            "run the same command again; once set up, Wintering needs no network."
        )
    lacking = re.search(r"No matching distribution found for (\S+)", output)
    if lacking:
        return (
            f"There is no ready-made {lacking[1]} for this machine "
            f"({platform.system()} {platform.machine()}, "
            f"Python {platform.python_version()}). Known to have every package: "
            "Linux on x86-64 and ARM64, macOS, and Windows on x86-64, each with a "
            "64-bit Python 3.11 to 3.13."
        )
    return f"pip could not install {lock}; its own words are above."
