"""Trees of gardens and streets: listed one by one, never counted per hectare."""

from pathlib import Path

from mapper.line import survey_results
from mapper.render import build_site
from mapper.survey import read_survey


def test_trees_in_no_stand_are_listed_and_never_per_hectare(tmp_path: Path) -> None:
    """Even with the leader's word that all were counted."""
    table = tmp_path / "street.csv"
    table.write_text(
        "tree,species,girth_cm,lat,lon\n"
        "1,Tilia cordata,90,48.1,11.2\n2,Tilia cordata,95,48.1,11.3\n"
    )
    results = survey_results(read_survey([table], complete_count=True))
    assert list(results.trees["tree"]) == ["1", "2"]
    assert results.stands.empty
    assert results.totals["value"].isna().all()
    build_site(results, tmp_path / "site")
    pages = {page.name: page.read_text("utf-8") for page in (tmp_path / "site").glob("*.html")}
    told = [name for name, page in pages.items() if "per ha<" in page or "per ha " in page]
    assert told in ([], ["methods.html"])
    assert "sorted into stands" in pages["index.html"]
