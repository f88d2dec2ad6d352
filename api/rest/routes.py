"""Which addresses are there below ``/api/v1/``? One line a view; a test asks that each has a test."""

from django.urls import URLPattern, URLResolver, path, register_converter

from api.rest import alternatives, coaches, customers, editions, formulas, next_looks, quote_whys, quotes, runs, surveys, trials
from api.rest.cost_base import KindConverter

register_converter(KindConverter, "kind")

urlpatterns: list[URLPattern | URLResolver] = [
    path("shops/<slug:shop>/customers", customers.Customers.as_view()),
    path("shops/<slug:shop>/customers/<int:customer_id>", customers.OneCustomer.as_view()),
    path("shops/<slug:shop>/customers/<int:customer_id>/erasure", customers.CustomerErasure.as_view()),
    path("shops/<slug:shop>/coaches", coaches.Coaches.as_view()),
    path("shops/<slug:shop>/coaches/<int:coach_id>", coaches.OneCoach.as_view()),
    path("shops/<slug:shop>/coaches/<int:coach_id>/retirement", coaches.CoachRetirement.as_view()),
    path("shops/<slug:shop>/surveys", surveys.Surveys.as_view()),
    path("shops/<slug:shop>/surveys/<int:survey_id>", surveys.OneSurvey.as_view()),
    path("shops/<slug:shop>/editions/trial", trials.EditionTrial.as_view()),
    path("shops/<slug:shop>/quotes", quotes.Quotes.as_view()),
    path("shops/<slug:shop>/quotes/trial", quotes.QuoteTrial.as_view()),
    path("shops/<slug:shop>/quotes/<int:quote_id>", quotes.OneQuote.as_view()),
    path("shops/<slug:shop>/quotes/<int:quote_id>/issue", quotes.QuoteIssue.as_view()),
    path("shops/<slug:shop>/quotes/<int:quote_id>/alternatives", alternatives.QuoteAlternatives.as_view()),
    path("shops/<slug:shop>/quotes/<int:quote_id>/revisions", quotes.QuoteRevision.as_view()),
    path("shops/<slug:shop>/quotes/<int:quote_id>/why", quote_whys.QuoteWhys.as_view()),
    path("shops/<slug:shop>/quotes/<int:quote_id>/next-looks", next_looks.NextLooks.as_view()),
    path("shops/<slug:shop>/quotes/<int:quote_id>/lines/<int:position>/why", quote_whys.LineWhy.as_view()),
    path("shops/<slug:shop>/quotes/<int:quote_id>/amounts/<slug:name>/why", quote_whys.AmountWhy.as_view()),
    path("shops/<slug:shop>/quotes/<int:quote_id>/components/<int:position>/why", quote_whys.ComponentWhy.as_view()),
    path("shops/<slug:shop>/quotes/<int:quote_id>/options/why", quote_whys.OptionsWhy.as_view()),
    path("shops/<slug:shop>/quotes/<int:quote_id>/options/<slug:slug>/why", quote_whys.OptionWhy.as_view()),
    path("shops/<slug:shop>/quotes/<int:quote_id>/tier/why", quote_whys.TierWhy.as_view()),
    path("shops/<slug:shop>/quotes/<int:quote_id>/why-allowance", quote_whys.AllowanceWhy.as_view()),
    path("shops/<slug:shop>/runs", runs.Runs.as_view()),
    path("shops/<slug:shop>/runs/<int:run_id>", runs.OneRun.as_view()),
    path("shops/<slug:shop>/runs/<int:run_id>/cancellation", runs.RunCancellation.as_view()),
    path("networks/<slug:network>/runs", runs.NetworkRuns.as_view()),
    path("networks/<slug:network>/runs/<int:run_id>", runs.OneNetworkRun.as_view()),
    path("networks/<slug:network>/runs/<int:run_id>/cancellation", runs.NetworkRunCancellation.as_view()),
    path("shops/<slug:shop>/<kind:kind>", editions.ShopEditions.as_view()),
    path("shops/<slug:shop>/<kind:kind>/<slug:slug>", editions.ShopEditionInForce.as_view()),
    path("shops/<slug:shop>/<kind:kind>/<slug:slug>/editions", editions.ShopEditionsOfSlug.as_view()),
    path("shops/<slug:shop>/<kind:kind>/<slug:slug>/editions/<int:edition_id>", editions.OneShopEdition.as_view()),
    path("shops/<slug:shop>/<kind:kind>/<slug:slug>/follow-network", editions.FollowNetwork.as_view()),
    path("shops/<slug:shop>/<kind:kind>/<slug:slug>/history", editions.ShopEditionHistory.as_view()),
    path("networks/<slug:network>/<kind:kind>", editions.NetworkEditions.as_view()),
    path("networks/<slug:network>/<kind:kind>/<slug:slug>", editions.NetworkEditionInForce.as_view()),
    path("networks/<slug:network>/<kind:kind>/<slug:slug>/editions", editions.NetworkEditionsOfSlug.as_view()),
    path("networks/<slug:network>/<kind:kind>/<slug:slug>/editions/<int:edition_id>", editions.OneNetworkEdition.as_view()),
    path("networks/<slug:network>/<kind:kind>/<slug:slug>/history", editions.NetworkEditionHistory.as_view()),
    path("shops/<slug:shop>/formulas/check", formulas.ShopFormulaCheck.as_view()),
    path("shops/<slug:shop>/measures", formulas.ShopMeasures.as_view()),
    path("networks/<slug:network>/formulas/check", formulas.NetworkFormulaCheck.as_view()),
    path("networks/<slug:network>/measures", formulas.NetworkMeasures.as_view()),
]
