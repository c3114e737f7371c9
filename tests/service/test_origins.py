"""Origins of sites, as RFC 6454 has them and browsers write them."""

import pytest

from quoter.service.access.origins import WrongOrigin, origin_of


@pytest.mark.parametrize(
    ("text", "origin"),
    [
        ("https://shop.example", "https://shop.example"),
        ("HTTPS://Shop.EXAMPLE", "https://shop.example"),  # RFC 6454 section 4, steps 4 and 5
        ("https://shop.example:443", "https://shop.example"),  # section 6.2, step 5
        ("https://shop.example:8443", "https://shop.example:8443"),
        ("https://shop.example:080", "https://shop.example:80"),
        ("https://bücher.example", "https://xn--bcher-kva.example"),
        ("https://straße.example", "https://xn--strae-oqa.example"),  # UTS 46, as browsers do since 2023
        ("https://xn--bcher-kva.example", "https://xn--bcher-kva.example"),
        ("https://shop。example", "https://shop.example"),
        ("https://192.0.2.7:9000", "https://192.0.2.7:9000"),
        ("https://[2001:DB8:0::1]", "https://[2001:db8::1]"),  # RFC 5952
        ("http://localhost:8080", "http://localhost:8080"),
        ("http://localhost:80", "http://localhost"),
        ("http://form.localhost", "http://form.localhost"),
        ("http://127.0.0.1:8080", "http://127.0.0.1:8080"),
        ("http://[::1]:8080", "http://[::1]:8080"),
    ],
)
def test_an_origin_is_written_in_one_way(text: str, origin: str):
    """Whatever way it was given in, and again the same."""
    assert origin_of(text) == origin
    assert origin_of(origin) == origin


@pytest.mark.parametrize(
    ("text", "right"),
    [
        ("https://shop.example/", "https://shop.example"),
        ("https://shop.example/repairs", "https://shop.example"),
        ("https://shop.example?x=1", "https://shop.example"),
        ("https://shop.example#", "https://shop.example"),
        ("https://user@shop.example", "https://shop.example"),
        ("http://shop.example", "https://shop.example"),
        ("http://localhost.example", "https://localhost.example"),
        ("http://192.0.2.7", "https://192.0.2.7"),
        ("shop.example", "https://shop.example"),
        ("ftp://shop.example", "https://shop.example"),
        ("null", "https://shop.example"),
        ("*", "https://shop.example"),
        ("", "https://shop.example"),
        ("https://", "https://shop.example"),
        ("https://*.shop.example", "each site in full"),
        ("https://shop .example", "https://shop.example"),
        ("https://shop.example\n", "https://shop.example"),
        ("https://shop.example\\@other.example", "https://shop.example"),
        ("https://shop.example:99999", ":8443"),
        ("https://shop.example:0", ":8443"),
        ("https://shop.example:", ":8443"),
        ("https://127.1", "each site in full"),
        ("https://0x7f000001", "each site in full"),
        ("https://[::g]", ":8443"),
        ("https://" + "a" * 300, "https://shop.example"),
    ],
)
def test_what_is_no_origin_is_told_what_would_be_right(text: str, right: str):
    """In the same sentence."""
    with pytest.raises(WrongOrigin, match=r".") as refused:
        origin_of(text)
    assert right in str(refused.value)
    assert "would be right" in str(refused.value)
